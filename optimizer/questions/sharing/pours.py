"""A line-up that shares some densities, and the pours it needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from optimizer.ball.bounds import Margin
from optimizer.lineup.result import LineupResult

Groups = tuple[tuple[str, ...], ...]
"""Weight labels that pour one density, group by group."""


@dataclass(frozen=True)
class Recipe:
    """One pour: a material at a density (g/cm³, as stated), and its parts and weights."""

    material: str
    density: float
    poured: tuple[tuple[str, str], ...]


@dataclass(frozen=True, eq=False)
class Point:
    """A line-up that shares some densities: `sharing` has the groups of each part."""

    sharing: Mapping[str, Groups]
    result: LineupResult

    @property
    def found(self) -> bool:
        """Whether the engine has found it, all targets met and all limits kept."""
        return self.result.status == "feasible"

    @cached_property
    def recipes(self) -> tuple[Recipe, ...]:
        """The pours of the whole line, equal densities of one material once."""
        poured: dict[tuple[str, float], list[tuple[str, str]]] = {}
        for weight in self.result.weights:
            ball = weight.ball
            for pour, density in zip(ball.map.pours, ball.densities.tolist(), strict=True):
                poured.setdefault((pour.material, density), []).append((pour.part, weight.label))
        return tuple(Recipe(*key, tuple(places)) for key, places in poured.items())

    @property
    def pours(self) -> int:
        """How many different pours the line needs."""
        return len(self.recipes)

    @property
    def smallest(self) -> Margin | None:
        """The smallest margin that depends on density, or None where none has a tolerance."""
        return self.result.smallest_moved

    @property
    def level(self) -> float:
        """The smallest margin in tolerances; 0 where none has a tolerance: all points are equal."""
        return 0.0 if self.smallest is None else self.smallest.tolerances or 0.0
