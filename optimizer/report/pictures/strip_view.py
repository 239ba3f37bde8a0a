"""What all the pictures of a line-up in section share: one scale of length, one of density."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from geometry.parts import Part
from optimizer.lineup.result import LineupResult
from optimizer.report.pictures.densities import Scale
from optimizer.report.pictures.leaders import dots
from optimizer.report.quantities import Units
from optimizer.report.writers.drawing import turned
from shared.arrays import Array

WIDTH: Final = 420.0
"""px of a picture."""
LEFT: Final = 14.0
"""px to its left margin."""
HALF, WHOLE = 164.0, 88.0
"""px of the largest ball's radius, in half section and in whole."""
PITCH, LINE = 30.0, 18.0
"""px from a label to the next, and from a line of text to the next."""
WRAP: Final = 56
"""Letters in a line across the picture at the most."""
TITLE, SMALL = "font-size='16' font-weight='bold'", "font-size='12'"
EDGE: Final = "fill='none' stroke='currentColor' stroke-width='.9' stroke-linejoin='round'"


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
    def half(self) -> bool:
        """Whether half a section says all of every ball."""
        return all(turned(part) for w in self.result.weights for part in w.ball.map.parts)

    @cached_property
    def per_cm(self) -> float:
        """How many px are a cm."""
        widest = max(weight.ball.map.radius for weight in self.result.weights)
        return (HALF if self.half else WHOLE) / widest

    @cached_property
    def dots(self) -> Mapping[tuple[Part, ...], Mapping[str, Array]]:
        """Where the labels of each mould point to, cm."""
        moulds = dict.fromkeys(weight.ball.map.parts for weight in self.result.weights)
        return {parts: dots(parts, PITCH / self.per_cm, half=self.half) for parts in moulds}
