"""Boxes of line-ups: ranges of the CGs, the order of axes, and ranges of the target."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Any, TypeAlias

from optimizer.ball.figures import CG_OFFSET
from optimizer.ball.targets import Span, Target
from optimizer.lineup.proof.affine import Line, Range

Axes = tuple[int, int, int]
"""Which of x, y, z (0, 1, 2) has the low, the intermediate and the high RG."""

Figures = tuple[Range, ...]
"""Ranges of low RG, differential and intermediate differential, cm."""

Node: TypeAlias = list[Any]
"""A node of a proof, as `optimizer.certificate.tree` reads it."""

BEYOND = 1e-6
"""cm, cm²: by how much a computed range is widened."""

SYMMETRIC: tuple[Axes, ...] = ((2, 0, 1), (0, 1, 2))
"""For a core that is the same about x and y: the pin axis is low, or it is high."""


@dataclass(frozen=True)
class LineupBox:
    """A set of line-ups: per class the range of c along the pin (cm) and the order of axes.

    An undecided order is None. `figures` are ranges of the target that the line shares: low RG,
    differential and intermediate differential, cm; `densities` those of the columns. The
    differential is at most the line `below` over the low RG (slope, constant), and at least the
    line `above`.
    """

    c: tuple[Range, ...]
    orders: tuple[Axes | None, ...]
    figures: Figures
    densities: tuple[Range, ...]
    below: Line | None = None
    above: Line | None = None

    @property
    def void(self) -> bool:
        """Whether a range of it holds nothing."""
        return any(low > high for low, high in (*self.figures, *self.c, *self.densities))

    def with_line(self, line: Line, *, below: bool) -> LineupBox:
        """Return the line-ups whose differential is at most a line, or at least."""
        (low, high), (near, far), inner = self.figures
        ends = [line[0] * rg + line[1] for rg in (low, high)]
        apart = (near, min(far, max(ends))) if below else (max(near, min(ends)), far)
        figures = (low, high), apart, inner
        if below:
            return replace(self, figures=figures, below=line)
        return replace(self, figures=figures, above=line)

    def with_order(self, k: int, order: Axes) -> LineupBox:
        """Return the line-ups whose class `k` has its axes in this order."""
        return replace(self, orders=(*self.orders[:k], order, *self.orders[k + 1 :]))

    def parted(self, k: int, below: float, above: float) -> tuple[LineupBox, ...]:
        """Return the line-ups with the CG of class `k` at most `below`, and at least `above`."""
        return tuple(replace(self, c=c) for c in _cut(self.c, k, below, above))

    def halved(self, i: int, at: float | None = None) -> tuple[LineupBox, ...]:
        """Return the line-ups with figure `i` up to a value and from there, by default halfway."""
        middle = sum(self.figures[i]) / 2 if at is None else at
        return tuple(replace(self, figures=f) for f in _cut(self.figures, i, middle, middle))

    def stepped(self, j: int, below: float, above: float) -> tuple[LineupBox, ...]:
        """Return the line-ups with density `j` at most `below`, and at least `above`."""
        return tuple(replace(self, densities=d) for d in _cut(self.densities, j, below, above))


Open: TypeAlias = tuple[LineupBox, Node]
"""A box, and the node that is to show what is in it."""


def fallen(
    node: Node, kind: Iterable[Any], boxes: Sequence[LineupBox], keys: Sequence[Any] | None = None
) -> list[Open]:
    """Make a node one of a kind, whose box falls into others; return these, with their nodes.

    Some kinds have a key for each.
    """
    nodes: list[Node] = [[] for _ in boxes]
    node[:] = [*kind, *(nodes if keys is None else map(list, zip(keys, nodes, strict=True)))]
    return list(zip(boxes, nodes, strict=True))


def offset_range(target: Target, within: float) -> Range:
    """Return the range of |c| that a target asks of each class, cm; `within` tolerances of it."""
    span = target.get(CG_OFFSET, Span(0.0, inf))
    room = within * (span.tolerance or 0.0)
    return max(0.0, span.low - room), span.high + room


def _cut(
    ranges: tuple[Range, ...], k: int, below: float, above: float
) -> Iterator[tuple[Range, ...]]:
    """Yield the ranges with the k-th one up to `below`, then from `above`."""
    low, high = ranges[k]
    for part in ((low, min(high, below)), (max(low, above), high)):
        yield (*ranges[:k], part, *ranges[k + 1 :])
