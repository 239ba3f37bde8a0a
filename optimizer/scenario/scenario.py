"""A scenario as the rest of the program sees it: resolved, in cm and g, a mould a weight class."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from geometry.parts import Part
from optimizer.ball.limits import Limit
from optimizer.ball.sought import Dimension, Pour
from optimizer.ball.targets import About, Target
from optimizer.scenario.dimensions import Chosen
from optimizer.scenario.goals import Goal
from optimizer.scenario.source.positions import NOWHERE, Place, problem_at, value_at
from optimizer.scenario.source.what_if import recorded
from optimizer.scenario.text.scenario_text import EachDimension, ScenarioText
from shared.errors import Problem
from shared.models import Path, Reading
from shared.what_if import WhatIf


@dataclass(frozen=True)
class ClassDrawing:
    """One weight: the label on the carton, the target weight, and the parts of its mould.

    `mass` and `tolerance` in g; `tolerance` is None if none is declared and balls are only
    measured. `parts` are those in this weight, `dimensions` the names of its dimensions.
    """

    label: str
    mass: float
    tolerance: float | None
    parts: tuple[Part, ...]
    dimensions: tuple[str, ...]


@dataclass(frozen=True)
class Rack:
    """A dimension to pick from the moulds on the rack, in the text's unit of length.

    Each of the `groups` of weights shares a value; a weight in none of them has its own.
    """

    name: str
    values: tuple[float, ...]
    groups: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Written:
    """A scenario's text, its name in errors and the files that it names, to be read anywhere.

    `places` are those of its keys, if the text is not the file's.
    """

    source: str
    file: str
    files: Mapping[str, bytes]
    places: dict[Path, Place] | None = None


@dataclass(frozen=True)
class Scenario:
    """The designer's request. `source` is the file's text, as it was changed; `file` is its name.

    `pours` are in the order of the parts in the file, whatever weights these are in;
    `sharing[part]` are the groups of weight labels that pour one density ((("16", "15", …),) for
    "all", none for "none"). `target` may be empty only if balls are measured, not sought. `places`
    has the place of each key in the file, by its path, such as ("parts", 2, "shape", "height").

    `free` and `rack` are the dimensions for a solver to pick, at their start in the moulds of
    `classes`. `chosen` are those already picked, by name and label of each weight that has them, in
    the text's unit of length. `goal` is the number that is sought. `files` has the content of each
    file that the text names, by name.
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
    target: Target
    about: About
    limits: tuple[Limit, ...]
    arm: float
    places: dict[Path, Place]
    free: tuple[Dimension, ...] = ()
    rack: tuple[Rack, ...] = ()
    chosen: Chosen = field(default_factory=dict)
    goal: Goal | None = None
    warnings: tuple[str, ...] = ()

    @property
    def written(self) -> Written:
        """All that is needed to read this scenario again."""
        places = self.places if self.text.what_if else None
        return Written(self.source, self.file, self.files, places)

    @cached_property
    def what_if(self) -> WhatIf:
        """What was changed in the file's text by one of its cases, and by --set."""
        return recorded(self.source) if self.text.what_if else WhatIf()

    @property
    def title(self) -> str:
        """The name and the revision, and what was changed."""
        return f"{self.name}, revision {self.revision}{self.what_if.words}"

    @property
    def open(self) -> bool:
        """Whether some dimension is still to be picked."""
        return bool(self.to_pick)

    @property
    def to_pick(self) -> tuple[str, ...]:
        """The names of the dimensions that are still to be picked."""
        return (*(dimension.name for dimension in self.free), *(rack.name for rack in self.rack))

    @property
    def alike(self) -> str | None:
        """The material whose blend has one share for the line, which is still to be found."""
        used = {pour.material for pour in self.pours}
        for name, material in self.text.materials.items():
            if name in used and material.recipe is not None and material.recipe.open:
                return name
        return None

    @property
    def labels(self) -> tuple[str, ...]:
        """The labels of all weights."""
        return tuple(class_drawing.label for class_drawing in self.classes)

    def standing(self, part: str) -> tuple[str, ...]:
        """Return the labels of the weights that a part is in."""
        return tuple(
            class_drawing.label
            for class_drawing in self.classes
            if any(own.name == part for own in class_drawing.parts)
        )

    def having(self, dimension: str) -> tuple[str, ...]:
        """Return the labels of the weights that have a named dimension."""
        return tuple(
            class_drawing.label
            for class_drawing in self.classes
            if dimension in class_drawing.dimensions
        )

    def poured(self, class_drawing: ClassDrawing) -> tuple[Pour, ...]:
        """Return the pours of a weight, in the order of its parts."""
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
        """Whether a weight has fewer free densities than fixed targets."""
        fixed = sum(span.fixed for span in self.target.values())
        return bool(self.target) and self.fewest_free < 1 + fixed

    def named(self, label: str) -> dict[str, float]:
        """Return each named dimension that one weight has, in the text's unit of length.

        Those that are still open are left out.
        """
        has = self.classes[self.labels.index(label)].dimensions
        picked = {name: by[label] for name, by in self.chosen.items() if name in has}
        return picked | {
            name: dimension.each[label] if isinstance(dimension, EachDimension) else dimension
            for name, dimension in self.text.dimensions.items()
            if isinstance(dimension, float | EachDimension) and name in has
        }

    def problem(
        self, path: Path, what: str, instead: str | None, value: str | None = None
    ) -> Problem:
        """Return a problem at `path`, with its place in the file."""
        return problem_at(self.places.get(path, NOWHERE), self.file, what, value, instead)

    def source_value(self, path: Path) -> Any:
        """Return the file's value at `path`, or None if there is none."""
        return value_at(tomllib.loads(self.source), path)[1]
