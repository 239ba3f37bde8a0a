"""A line-up with some densities in common, and what has to be mixed for it."""

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
    """One pour: a material at a density (g/cm³, as stated), and the parts and weights it is for."""

    material: str
    density: float
    poured: tuple[tuple[str, str], ...]


@dataclass(frozen=True, eq=False)
class Point:
    """A line-up with some densities in common: per part, the groups that `sharing` asks for."""

    sharing: Mapping[str, Groups]
    result: LineupResult

    @property
    def found(self) -> bool:
        """Whether the engine has found it, all targets met inside all limits."""
        return self.result.status == "feasible"

    @cached_property
    def recipes(self) -> tuple[Recipe, ...]:
        """What has to be mixed for the whole line, equal densities of one material once."""
        found: dict[tuple[str, float], list[tuple[str, str]]] = {}
        for weight in self.result.weights:
            for pour, density in zip(
                weight.ball.map.pours, weight.ball.densities.tolist(), strict=True
            ):
                found.setdefault((pour.material, density), []).append((pour.part, weight.label))
        return tuple(Recipe(*key, tuple(poured)) for key, poured in found.items())

    @property
    def pours(self) -> int:
        """How many different pours the line takes."""
        return len(self.recipes)

    @property
    def smallest(self) -> Margin | None:
        """The smallest margin that a density moves, or None where none has a tolerance."""
        return next((margin for margin in self.result.margins if margin.movable), None)

    @property
    def level(self) -> float:
        """The smallest margin in tolerances; 0 where none has a tolerance, and all are alike."""
        return 0.0 if self.smallest is None else self.smallest.tolerances or 0.0
