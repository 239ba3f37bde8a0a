"""A scenario as the rest of the program sees it: resolved, in cm and g, a mould a weight class."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field

from geometry.parts import Part
from optimizer.ball.limits import Limit
from optimizer.ball.sought import Dimension, Pour
from optimizer.ball.targets import About, Target
from optimizer.scenario.dimensions import Chosen
from optimizer.scenario.source.positions import Place, value_at
from optimizer.scenario.text.scenario_text import EachDimension, ScenarioText
from shared.errors import Problem
from shared.models import Path, Reading


@dataclass(frozen=True)
class ClassDrawing:
    """One weight: the label on the carton, the weight asked for, and the parts of its mould.

    `mass` and `tolerance` in g; `tolerance` is None where a ball is measured and none is declared.
    `parts` are those that stand in this weight, and `dimensions` the names of those that it has.
    """

    label: str
    mass: float
    tolerance: float | None
    parts: tuple[Part, ...]
    dimensions: tuple[str, ...]


@dataclass(frozen=True)
class Rack:
    """A dimension to pick from the moulds on the rack, in the text's unit of length.

    `groups` are the weights that have it alike; a weight in none of them has its own.
    """

    name: str
    values: tuple[float, ...]
    groups: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Written:
    """A scenario's text, its name in errors and the files that it names: to be read anywhere."""

    source: str
    file: str
    files: Mapping[str, bytes]


@dataclass(frozen=True)
class Scenario:
    """What a designer asks for. `source` is the file's text, `file` its name as it was given.

    `pours` stand in the order of the parts in the file, whatever weights those stand in;
    `sharing[part]` are the groups of weight labels that pour one density ((("16", "15", …),) for
    "all", none for each its own). `target` is None only where a ball is measured rather than
    sought. `places` tells where a key stands, by its path
    such as ("parts", 2, "shape", "height").

    `free` and `rack` are the dimensions that a solver is to pick; the classes' moulds have them at
    their start. `chosen` are those that have been picked, by name and weight label, in the text's
    unit of length; of each the labels of the weights that have it. `files` has the content of each
    file that the text names, by this name.
    """

    name: str
    revision: str
    file: str
    source: str
    files: Mapping[str, bytes]
    text: ScenarioText
    reading: Reading
    classes: tuple[ClassDrawing, ...]
    pours: tuple[Pour, ...]
    sharing: dict[str, tuple[tuple[str, ...], ...]]
    target: Target | None
    about: About
    limits: tuple[Limit, ...]
    arm: float
    places: dict[Path, Place]
    free: tuple[Dimension, ...] = ()
    rack: tuple[Rack, ...] = ()
    chosen: Chosen = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    @property
    def written(self) -> Written:
        """What it takes to read this scenario again."""
        return Written(self.source, self.file, self.files)

    @property
    def open(self) -> bool:
        """Whether some dimension is still to be picked."""
        return bool(self.to_pick)

    @property
    def to_pick(self) -> tuple[str, ...]:
        """The names of the dimensions that are still to be picked."""
        return (*(dimension.name for dimension in self.free), *(one.name for one in self.rack))

    @property
    def labels(self) -> tuple[str, ...]:
        """The labels of all weights."""
        return tuple(class_drawing.label for class_drawing in self.classes)

    def standing(self, part: str) -> tuple[str, ...]:
        """Return the labels of the weights that a part stands in."""
        return tuple(
            class_drawing.label
            for class_drawing in self.classes
            if any(its.name == part for its in class_drawing.parts)
        )

    def having(self, dimension: str) -> tuple[str, ...]:
        """Return the labels of the weights that have a named dimension."""
        return tuple(
            class_drawing.label
            for class_drawing in self.classes
            if dimension in class_drawing.dimensions
        )

    def poured(self, class_drawing: ClassDrawing) -> tuple[Pour, ...]:
        """Return what is poured into a weight, in the order of its parts."""
        by_part = {pour.part: pour for pour in self.pours}
        return tuple(by_part[part.name] for part in class_drawing.parts)

    def free_in(self, class_drawing: ClassDrawing) -> tuple[Dimension, ...]:
        """Return the free dimensions that a weight has."""
        return tuple(free for free in self.free if free.name in class_drawing.dimensions)

    @property
    def fewest_free(self) -> int:
        """How many densities are free in the weight that has the fewest."""
        return min(
            sum(not pour.fixed for pour in self.poured(class_drawing))
            for class_drawing in self.classes
        )

    @property
    def too_few_free(self) -> bool:
        """Whether a weight has fewer free densities than targets, a free one of the line apart."""
        if self.target is None:
            return False
        return self.fewest_free < 1 + sum(span.fixed for span in self.target.spans)

    def named(self, label: str) -> dict[str, float]:
        """Return each named dimension that one weight has, in the text's unit of length.

        Those that are still open are left out.
        """
        has = next(
            class_drawing.dimensions
            for class_drawing in self.classes
            if class_drawing.label == label
        )
        picked = {name: by[label] for name, by in self.chosen.items() if name in has}
        return picked | {
            name: dimension.each[label] if isinstance(dimension, EachDimension) else dimension
            for name, dimension in self.text.dimensions.items()
            if isinstance(dimension, float | EachDimension) and name in has
        }

    def problem(
        self, path: Path, what: str, instead: str | None, value: str | None = None
    ) -> Problem:
        """Return the problem that something is wrong at `path`, with its place in the file."""
        place = self.places.get(path)
        return Problem(
            what,
            value,
            instead,
            file=self.file,
            line=None if place is None else place.line,
            column=None if place is None else place.column,
        )

    def source_value(self, path: Path) -> object:
        """Return what the file says at `path`, or None where it says nothing."""
        found: object = value_at(tomllib.loads(self.source), path)[1]
        return found
