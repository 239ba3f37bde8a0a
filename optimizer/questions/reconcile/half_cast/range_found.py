"""From what to what mass of a casting a ball can still be made, by bisection."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from optimizer.ball.weight_class import LinearMap
from optimizer.questions.reconcile.half_cast.one_ball import OneBall
from shared.arrays import Array
from shared.models import POURABLE

GRAMS: Final = 0.1
"""g, and..."""
DENSITY: Final = 5e-4
"""...g/cm³: an end of the range is found to the larger of both."""
FIRST: Final = 2.0
"""Standard deviations: the first step outward."""


@dataclass(frozen=True)
class End:
    """The last density found to suit (g/cm³), and the mass of its piece (g).

    `proven`: just beyond it is proven that the ball can't be made. `open`: the search went no
    farther, since no casting has such a density.
    """

    density: float
    mass: float
    proven: bool
    open: bool = False


@dataclass(frozen=True)
class Found:
    """The densities of a part with which a ball was found to be possible, others as they are."""

    part: str
    low: End
    high: End

    @property
    def proven(self) -> bool:
        """Whether it is proven that it can't be made just beyond either end."""
        return self.low.proven and self.high.proven

    @property
    def grams(self) -> tuple[float, float]:
        """The masses of its piece, rounded inward to 0.1 g."""
        return math.ceil(10.0 * self.low.mass) / 10.0, math.floor(10.0 * self.high.mass) / 10.0


def found_range(one: OneBall, part: str, pieces: Mapping[str, Array]) -> Found | None:
    """Return the range of a part's density around its present one that suits a ball.

    Around the scheduled one where the present doesn't suit; None where that doesn't, either.
    `pieces` are the volumes (n,) of what lies in each part's piece.
    """
    search = _Search(one, part, one.aimed.map, pieces[part])
    for density in (one.known[part], float(one.aimed.density(part) or 0.0)):
        if search.at(density).possible:
            return Found(part, *(search.end(density, limit) for limit in POURABLE))
    return None


@dataclass(frozen=True, eq=False)
class _Search:
    one: OneBall
    part: str
    map: LinearMap
    volumes: Array

    def at(self, density: float) -> OneBall:
        """Return the ball with the part at another density."""
        return replace(self.one, known={**self.one.known, self.part: density})

    def end(self, inside: float, limit: float) -> End:
        """Return the end between a density that suits and the `limit` of what can be poured."""
        place = self.map.places[self.part]
        fine = max(GRAMS / float(self.volumes[place]), DENSITY)
        step = FIRST * float(self.one.schedule.deviations(self.one.label)[place])
        way = 1.0 if limit > inside else -1.0
        outside, beyond = inside, None
        while beyond is None:
            inside = outside
            if inside == limit:
                return End(inside, self._mass(inside), proven=False, open=True)
            outside = way * min(way * (inside + way * step), way * limit)
            step *= 2.0
            beyond = self._beyond(outside)
        while abs(outside - inside) > fine:
            middle = (inside + outside) / 2.0
            proven = self._beyond(middle)
            if proven is None:
                inside = middle
            else:
                outside, beyond = middle, proven
        return End(inside, self._mass(inside), proven=beyond)

    def _beyond(self, density: float) -> bool | None:
        """Return None where a density suits, else whether it is proven that it doesn't."""
        ball = self.at(density)
        return None if ball.possible else ball.status == "infeasible"

    def _mass(self, density: float) -> float:
        known = {**self.one.known, self.part: density}
        densities = [known.get(part.name, 0.0) for part in self.map.parts]
        return float(self.volumes @ np.array(densities))
