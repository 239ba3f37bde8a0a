"""The densities that can be poured: each material's range, part by part."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import ClassVar, Self

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import DENSITY
from optimizer.ball.limits.base import Limit
from optimizer.ball.weight_class import LinearMap


class DensityRange(Limit):
    """Each part's density within its material's range: always kept; fixed ones have no range."""

    key: ClassVar[str] = "density"

    def bounds(self, linear_map: LinearMap) -> Iterator[Bound]:
        """Yield both ends of each density that is sought.

        If the range follows from a recipe, the note says what limits it.
        """
        for pour in linear_map.pours:
            if not pour.fixed:
                least, most = pour.stops or (None, None)
                bound = Bound(
                    DENSITY,
                    of=pour.part,
                    weight=linear_map.label,
                    tolerance=pour.tolerance,
                    path=pour.path,
                )
                yield replace(bound, low=pour.low, note=least)
                yield replace(bound, high=pour.high, note=most)

    @classmethod
    def example(cls) -> Self:
        """The only one."""
        return cls()
