"""What is sought of a weight class: the density of each pour, and the mould's free dimensions."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.mixing import Recipe
from shared.models import Path


@dataclass(frozen=True)
class Pour:
    """What may be poured into a part: g/cm³, and the spread from batch to batch (±).

    The shop can hold densities of whole `step`s, where there is one. With a `recipe`, `stops` say
    in words what keeps it from less than `low` and from more than `high`. `path` is where the
    scenario says so.
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

    `groups` are the weights that have it alike; a weight in none of them has its own.
    """

    name: str
    low: float
    high: float
    start: float
    groups: tuple[tuple[str, ...], ...]

    @property
    def span(self) -> float:
        """How far it can move."""
        return self.high - self.low
