"""What the section pictures of a line-up share: scales of length and of density, and layout."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from textwrap import wrap
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
"""px: the largest ball's radius, in half section and in whole."""
TOP, BELOW = 66.0, 46.0
"""px down to the first section, and from one to the next."""
PITCH, LINE = 30.0, 18.0
"""px from a label to the next, and from a line of text to the next."""
WRAP: Final = 56
"""Letters in a line across the picture, at most."""
TITLE, SMALL = "font-size='16' font-weight='bold'", "font-size='12'"
EDGE: Final = "fill='none' stroke='currentColor' stroke-width='.9' stroke-linejoin='round'"


def wrapped(lines: Iterable[str]) -> list[str]:
    """Return lines of text wrapped to the picture's width."""
    return [part for line in lines for part in wrap(line, WRAP, break_on_hyphens=False)]


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
    """What the pictures of a line-up share."""

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
        """Whether half a section shows everything of every ball."""
        return all(len(self.views[w.ball.map.parts]) == 1 for w in self.result.weights)

    @cached_property
    def per_cm(self) -> float:
        """The scale, px to the cm."""
        widest = max(weight.ball.map.radius for weight in self.result.weights)
        return (HALF if self.half else WHOLE) / widest

    def of(self, linear_map: LinearMap) -> tuple[View, ...]:
        """Return the sections of a ball, one below the other; each part is labelled in one."""
        sections, top, labelled = list[View](), TOP, set[str]()
        across = LEFT if self.half else LEFT + WHOLE
        for plane, parts in self.views[linear_map.parts].items():
            places = {name: at for name, at in self.dots[parts].items() if name not in labelled}
            tall = max(2 * self.per_cm * linear_map.radius, PITCH * len(places))
            eye = Eye(self.per_cm, across, top + tall / 2)
            sections.append(View(plane, parts, eye, top, tall, places))
            labelled.update(places)
            top += tall + BELOW
        return tuple(sections)

    @cached_property
    def dots(self) -> Mapping[tuple[Part, ...], Mapping[str, Array]]:
        """Where labels may point to, cm, for the parts of each mould in each plane."""
        seen = dict.fromkeys(parts for planes in self.views.values() for parts in planes.values())
        return {parts: dots(parts, PITCH / self.per_cm, half=self.half) for parts in seen}
