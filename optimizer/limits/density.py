"""The densities that can be poured: every material's range, part by part."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar, Self

from optimizer.limits.base import Limit
from optimizer.linear.maps import Ball
from optimizer.linear.rows import Margin


class DensityRange(Limit):
    """Each part's density within its material's range. Always held; a fixed density has none."""

    key: ClassVar[str] = "density"

    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield "density min" and "density max" for each part whose density is sought.

        Where the range follows from a recipe, the note says what stops it.
        """
        for i, pour in enumerate(ball.map.pours):
            density = float(ball.densities[i])
            if pour.fixed:
                continue
            stops = pour.stops or (None, None)
            for side, bound, sign, note in (
                ("min", pour.low, 1.0, stops[0]),
                ("max", pour.high, -1.0, stops[1]),
            ):
                yield Margin(
                    weight=ball.map.label,
                    limit=f"density {side}",
                    part=pour.part,
                    value=density,
                    bound=bound,
                    slack=sign * (density - bound),
                    quantity="density",
                    tolerance=pour.tolerance,
                    gradient=sign * ball.unit(i),
                    note=note,
                )

    @classmethod
    def example(cls) -> Self:
        """The one there is."""
        return cls()
