"""A scenario as the rest of the program sees it: resolved, in cm and g, a mould a weight class."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field

from geometry.parts import Part
from optimizer.limits import Limit
from optimizer.linear.maps import Dimension, Pour
from optimizer.linear.targets import About, Target
from optimizer.scenario.dimensions import Chosen
from optimizer.scenario.positions import Path, Place, value_at
from optimizer.scenario.text import EachDimension, ScenarioText
from shared.models import Reading


@dataclass(frozen=True)
class WeightClass:
    """One weight: the label on the carton, the weight asked for, and the parts of its mould.

    `mass` and `tolerance` in g; `tolerance` is None where a ball is measured and none is declared.
    """

    label: str
    mass: float
    tolerance: float | None
    parts: tuple[Part, ...]


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

    `pours` stand in the order of the parts; `sharing[part]` are the groups of weight labels that
    pour one density ((("16", "15", …),) for "all", none for each its own). `target` is None only
    where a ball is measured rather than sought. `places` tells where a key stands, by its path
    such as ("parts", 2, "shape", "height").

    `free` and `rack` are the dimensions that a solver is to pick; the classes' moulds have them at
    their start. `chosen` are those that have been picked, by name and weight label, in the text's
    unit of length. `files` has the content of each file that the text names, by this name.
    """

    name: str
    revision: str
    file: str
    source: str
    files: Mapping[str, bytes]
    text: ScenarioText
    reading: Reading
    classes: tuple[WeightClass, ...]
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
        return bool(self.free or self.rack)

    @property
    def too_few_free(self) -> bool:
        """Whether a weight has fewer free densities than targets, a free one of the line apart."""
        free = sum(not pour.fixed for pour in self.pours)
        return self.target is not None and free < 1 + sum(s.fixed for s in self.target.spans)

    def named(self, label: str) -> dict[str, float]:
        """Return each named dimension of one weight, in the text's unit of length.

        Those that are still open are left out.
        """
        picked = {name: by_label[label] for name, by_label in self.chosen.items()}
        return picked | {
            name: dimension.each[label] if isinstance(dimension, EachDimension) else dimension
            for name, dimension in self.text.dimensions.items()
            if isinstance(dimension, float | EachDimension)
        }

    def source_value(self, path: Path) -> object:
        """Return what the file says at `path`, or None where it says nothing."""
        found: object = value_at(tomllib.loads(self.source), path)[1]
        return found
