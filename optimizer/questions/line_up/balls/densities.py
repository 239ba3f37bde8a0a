"""Densities in pictures: one scale of colours, and the place of each density in its range."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from optimizer.ball.figures import DENSITY
from optimizer.ball.sought import Pour
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.paper.pictures.cividis import SHARES, colour, ink
from optimizer.paper.pictures.picture import text
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import standing

End = Literal["least", "most"]
LEAN: Final[dict[End, int]] = {"least": 45, "most": -45}
"""Degrees by which a hatching leans: falling to the right at the least, rising at the most."""


@dataclass(frozen=True)
class Scale:
    """Densities (g/cm³) as colours, from the lowest, dark, to the highest, light."""

    low: float
    high: float

    def share(self, density: float) -> float:
        """Return a density's place between the ends, 0 to 1; ½ where both ends are the same."""
        span = self.high - self.low
        return (density - self.low) / span if span > 0.0 else 0.5

    def colour(self, density: float) -> str:
        """Return the colour of a density."""
        return colour(self.share(density))

    def ink(self, density: float) -> str:
        """Return the colour of text on it."""
        return ink(self.share(density))

    def bar(self, place: tuple[float, float], wide: float, unit: Unit, name: str) -> Iterator[str]:
        """Yield the scale as a bar 12 px high at `place`, px, with labelled ends.

        `name` is the id of its gradient.
        """
        (x, y), shares = place, SHARES if self.high > self.low else (0.5,)
        stops = "".join(f"<stop offset='{k:.4f}' stop-color='{colour(k)}'/>" for k in shares)
        yield f"<linearGradient id='{name}'>{stops}</linearGradient>"
        box = f"x='{x:.1f}' y='{y:.1f}' width='{wide:.1f}' height='12'"
        yield f"<rect {box} fill='url(#{name})' stroke='currentColor'/>"
        yield text(x, y + 28, unit.told(self.low), "font-size='12'")
        yield text(x + wide, y + 28, unit.told(self.high), "font-size='12' text-anchor='end'")


def density_scale(*results: LineupResult) -> Scale:
    """Return the scale of all densities of one or more line-ups."""
    densities = [float(d) for result in results for w in result.weights for d in w.ball.densities]
    return Scale(min(densities), max(densities))


@dataclass(frozen=True)
class Poured:
    """A part's density (g/cm³) in one ball, and its place in the range of its pour.

    `standing` is "fixed", "at its minimum", "0.0120 over its maximum", … or "" where there is room
    both ways, to the digits printed; then `end` is None.
    """

    pour: Pour
    density: float
    number: str
    standing: str
    end: End | None

    @property
    def brief(self) -> str:
        """The standing, without the amount."""
        return " ".join(self.standing.split()[-3:])

    @property
    def share(self) -> float:
        """Where the density is in its range, 0 to 1."""
        low, high = self.pour.low, self.pour.high
        return min(max((self.density - low) / (high - low), 0.0), 1.0)


def poured(weight: WeightResult, units: Units) -> tuple[Poured, ...]:
    """Return the densities of a ball, in the order of its parts."""
    return tuple(
        _poured(pour, float(density), weight, units)
        for pour, density in zip(weight.ball.map.pours, weight.ball.densities, strict=True)
    )


def _poured(pour: Pour, density: float, weight: WeightResult, units: Units) -> Poured:
    number = units.density.number(density)
    if pour.fixed:
        return Poured(pour, density, number, "fixed", None)
    ends: dict[str, End] = {"min": "least", "max": "most"}
    for side, end in ends.items():
        sort = (DENSITY.key, side, pour.part, None)
        margin = next(margin for margin in weight.margins if margin.bound.sort == sort)
        words = standing(margin, units)
        if margin.slack < 0.0 or words.startswith("at its"):
            return Poured(pour, density, number, words, end)
    return Poured(pour, density, number, "", None)


def hatching(name: str, end: End, stroke: str) -> str:
    """Return a hatching, of id `name`, that leans by the `end` of the range."""
    turn = f"patternTransform='rotate({LEAN[end]})'"
    line = f"<path d='M 0,4 H 8' stroke='{stroke}' stroke-opacity='.8'/>"
    return (
        f"<pattern id='{name}' width='8' height='8' patternUnits='userSpaceOnUse' {turn}>"
        f"{line}</pattern>"
    )
