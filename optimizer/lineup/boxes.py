"""Boxes of line-ups: where the CGs are, which axes have which RG, and what is aimed at."""

from __future__ import annotations

from dataclasses import dataclass, replace

from optimizer.lineup.affine import Range

Axes = tuple[int, int, int]
"""Which of x, y, z (0, 1, 2) has the low, the intermediate and the high RG."""

SYMMETRIC: tuple[Axes, ...] = ((2, 0, 1), (0, 1, 2))
"""Of a core that is the same about x and y: the pin axis is low, or it is high."""


@dataclass(frozen=True)
class Box:
    """A set of line-ups: per class the range of c along the pin (cm) and the order of axes.

    An order is None while it is undecided. `figures` are ranges of the target that the line shares:
    low RG, differential and intermediate differential, cm.
    """

    c: tuple[Range, ...]
    orders: tuple[Axes | None, ...]
    figures: tuple[Range, Range, Range]

    def with_order(self, k: int, order: Axes) -> Box:
        """Return the line-ups whose class `k` has its axes in this order."""
        return replace(self, orders=(*self.orders[:k], order, *self.orders[k + 1 :]))

    def parted(self, k: int, at: float) -> tuple[Box, Box]:
        """Return the line-ups whose class `k` has its CG below `at` (cm) and those above."""
        low, high = (
            replace(self, c=(*self.c[:k], c, *self.c[k + 1 :]))
            for c in ((self.c[k][0], at), (at, self.c[k][1]))
        )
        return low, high

    def halved(self, i: int) -> tuple[Box, Box]:
        """Return the line-ups with figure `i` in the lower and in the upper half of its range."""
        figures, (a, b) = list(self.figures), self.figures[i]
        halves = []
        for half in ((a, (a + b) / 2), ((a + b) / 2, b)):
            figures[i] = half
            halves.append(replace(self, figures=(figures[0], figures[1], figures[2])))
        return halves[0], halves[1]
