"""Densities in pictures: one scale of colours for a line, and how each pour stands in its range."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import DENSITY
from optimizer.ball.sought import Pour
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.paper.pictures.cividis import SHARES, colour, ink
from optimizer.paper.pictures.picture import text
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import standing

End = Literal["least", "most"]
LEAN: Final[dict[End, int]] = {"least": 45, "most": -45}
"""Degrees by which a hatching leans: it falls to the right at the least, and rises at the most."""


@dataclass(frozen=True)
class Scale:
    """Densities (g/cm³) as colours, from the lowest, dark, to the highest, light."""

    low: float
    high: float

    def share(self, density: float) -> float:
        """Return where a density is between the ends, 0 to 1; in the middle where they are one."""
        span = self.high - self.low
        return (density - self.low) / span if span > 0.0 else 0.5

    def colour(self, density: float) -> str:
        """Return what a density is painted in."""
        return colour(self.share(density))

    def ink(self, density: float) -> str:
        """Return what is written in upon it."""
        return ink(self.share(density))

    def bar(self, place: tuple[float, float], wide: float, unit: Unit, name: str) -> Iterator[str]:
        """Yield the scale as a bar 12 px high at `place`, px, its ends told below it.

        `name` is the id of its colours.
        """
        (x, y), shares = place, SHARES if self.high > self.low else (0.5,)
        stops = "".join(f"<stop offset='{k:.4f}' stop-color='{colour(k)}'/>" for k in shares)
        yield f"<linearGradient id='{name}'>{stops}</linearGradient>"
        box = f"x='{x:.1f}' y='{y:.1f}' width='{wide:.1f}' height='12'"
        yield f"<rect {box} fill='url(#{name})' stroke='currentColor'/>"
        yield text(x, y + 28, unit.told(self.low), "font-size='12'")
        yield text(x + wide, y + 28, unit.told(self.high), "font-size='12' text-anchor='end'")


def density_scale(*results: LineupResult) -> Scale:
    """Return the scale of all densities of one line-up or of several."""
    densities = [float(d) for result in results for w in result.weights for d in w.ball.densities]
    return Scale(min(densities), max(densities))


@dataclass(frozen=True)
class Poured:
    """A part's density (g/cm³) in one ball, what it may be, and how it stands to that in words.

    `said` is "fixed", "at its minimum", "0.0120 over its maximum", … or "" where there is room
    both ways to the digits that are printed; then `end` is None.
    """

    pour: Pour
    density: float
    number: str
    said: str
    end: End | None

    @property
    def brief(self) -> str:
        """What is said, without by how much."""
        return " ".join(self.said.split()[-3:])

    @property
    def share(self) -> float:
        """Where the density is in its range, 0 to 1."""
        low, high = self.pour.low, self.pour.high
        return min(max((self.density - low) / (high - low), 0.0), 1.0)


def poured(weight: WeightResult, units: Units) -> tuple[Poured, ...]:
    """Return how every part of a ball is poured, in the order of its parts."""
    return tuple(
        _poured(pour, float(density), weight, units)
        for pour, density in zip(weight.ball.map.pours, weight.ball.densities, strict=True)
    )


def _poured(pour: Pour, density: float, weight: WeightResult, units: Units) -> Poured:
    number = units.density.number(density)
    if pour.fixed:
        return Poured(pour, density, number, "fixed", None)
    ends: tuple[End, ...] = ("least", "most")
    for margin, end in zip(_range_margins(pour, weight), ends, strict=True):
        said = standing(margin, units)
        if margin.slack < 0.0 or said.startswith("at its"):
            return Poured(pour, density, number, said, end)
    return Poured(pour, density, number, "", None)


def _range_margins(pour: Pour, weight: WeightResult) -> tuple[Margin, Margin]:
    """Return a sought density's margins to its least and to its most."""
    low, high = (
        next(m for m in weight.margins if m.bound.sort == (DENSITY.key, side, pour.part, None))
        for side in ("min", "max")
    )
    return low, high


def hatching(name: str, end: End, stroke: str) -> str:
    """Return lines to fill with, of id `name`, that lean as those of an `end` of the range do."""
    turn = f"patternTransform='rotate({LEAN[end]})'"
    line = f"<path d='M 0,4 H 8' stroke='{stroke}' stroke-opacity='.8'/>"
    return (
        f"<pattern id='{name}' width='8' height='8' patternUnits='userSpaceOnUse' {turn}>"
        f"{line}</pattern>"
    )
