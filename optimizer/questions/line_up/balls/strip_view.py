"""What all the pictures of a line-up in section share: one scale of length, one of density."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from geometry.parts import Part
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.result import LineupResult
from optimizer.paper.pictures.leaders import dots
from optimizer.paper.quantities import Units
from optimizer.paper.writers.drawing import views
from optimizer.questions.line_up.balls.densities import Scale
from optimizer.questions.line_up.balls.section_path import Eye
from shared.arrays import Array

WIDTH: Final = 420.0
"""px of a picture."""
LEFT: Final = 14.0
"""px to its left margin."""
HALF, WHOLE = 164.0, 88.0
"""px of the largest ball's radius, in half section and in whole."""
TOP, BELOW = 66.0, 46.0
"""px down to the first section, and from one to the next."""
PITCH, LINE = 30.0, 18.0
"""px from a label to the next, and from a line of text to the next."""
WRAP: Final = 56
"""Letters in a line across the picture at the most."""
TITLE, SMALL = "font-size='16' font-weight='bold'", "font-size='12'"
EDGE: Final = "fill='none' stroke='currentColor' stroke-width='.9' stroke-linejoin='round'"


@dataclass(frozen=True, eq=False)
class View:
    """A section, its parts turned into x and z: where it is (px), and where labels point (cm)."""

    plane: str
    parts: tuple[Part, ...]
    eye: Eye
    top: float
    tall: float
    places: Mapping[str, Array]


@dataclass(frozen=True, eq=False)
class Strip:
    """What all the pictures of a line-up share."""

    result: LineupResult
    scale: Scale
    name: str

    @cached_property
    def units(self) -> Units:
        """The scenario's own units."""
        return Units.of(self.result.scenario)

    @cached_property
    def views(self) -> Mapping[tuple[Part, ...], Mapping[str, tuple[Part, ...]]]:
        """The planes that each mould is cut by, and its parts as they are then seen."""
        return {w.ball.map.parts: dict(views(w.ball.map.parts)) for w in self.result.weights}

    @cached_property
    def half(self) -> bool:
        """Whether half a section says all of every ball."""
        return all(len(self.views[w.ball.map.parts]) == 1 for w in self.result.weights)

    @cached_property
    def per_cm(self) -> float:
        """How many px are a cm."""
        widest = max(weight.ball.map.radius for weight in self.result.weights)
        return (HALF if self.half else WHOLE) / widest

    def of(self, map_: LinearMap) -> tuple[View, ...]:
        """Return the sections of a ball, one below the other; a part is labelled in one of them."""
        found, top, told = list[View](), TOP, set[str]()
        across = LEFT if self.half else LEFT + WHOLE
        for plane, parts in self.views[map_.parts].items():
            places = {name: at for name, at in self.dots[parts].items() if name not in told}
            tall = max(2 * self.per_cm * map_.radius, PITCH * len(places))
            eye = Eye(self.per_cm, across, top + tall / 2)
            found.append(View(plane, parts, eye, top, tall, places))
            told.update(places)
            top += tall + BELOW
        return tuple(found)

    @cached_property
    def dots(self) -> Mapping[tuple[Part, ...], Mapping[str, Array]]:
        """Where the labels of each mould's parts, as a plane cuts them, may point to, cm."""
        seen = dict.fromkeys(parts for some in self.views.values() for parts in some.values())
        return {parts: dots(parts, PITCH / self.per_cm, half=self.half) for parts in seen}
