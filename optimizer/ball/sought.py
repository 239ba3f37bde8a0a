"""The variables of a weight class: the density of each pour, and the mould's free dimensions."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.mixing.recipe import Recipe
from shared.models import Path


@dataclass(frozen=True)
class Pour:
    """The densities that may be poured into a part, g/cm³, and the spread between batches (±).

    With a `step` the shop can only hold multiples of it. With a `recipe`, `stops` say in words what
    limits the density at `low` and at `high`. `path` is the place in the scenario.
    """

    part: str
    material: str
    low: float
    high: float
    tolerance: float | None
    step: float | None = None
    recipe: Recipe | None = None
    stops: tuple[str, str] | None = None
    path: Path = ()

    @property
    def fixed(self) -> bool:
        """Whether the density is given rather than sought."""
        return self.low == self.high


@dataclass(frozen=True)
class Dimension:
    """A free dimension of the mould, cm: searched between `low` and `high`, first at `start`.

    `groups` are the weights that share it; a weight in none of them has its own.
    """

    name: str
    low: float
    high: float
    start: float
    groups: tuple[tuple[str, ...], ...]

    @property
    def span(self) -> float:
        """The width of its range."""
        return self.high - self.low
