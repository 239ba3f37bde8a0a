"""Where the CGs of a line-up can be, with its parts on the pin axis."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from optimizer.ball.linear_rows import LinearRow
from optimizer.lineup.engine.linear_solver import LinearSolver, Optimum
from optimizer.lineup.proof.affine import ProofRow, Range
from optimizer.lineup.proof.boxes import BEYOND, LineupBox, Node, Open
from optimizer.lineup.proof.quotient import Quotient
from optimizer.lineup.proof.relaxation import Outer
from shared.arrays import Array
from shared.tolerances import SOLVER

Broken: TypeAlias = Callable[[LineupBox, Node, Iterable[ProofRow]], tuple[float, Optimum]]
"""Returns how much every point of a box breaks rows at least, and one that breaks no more; the node
becomes the leaf that shows it."""


@dataclass(frozen=True, eq=False)
class Places:
    """Cuts from a box where no CG can be; `broken` makes the leaf that shows it."""

    outer: Outer
    solver: LinearSolver
    broken: Broken

    def whole(self, node: Node) -> Open:
        """Return the box of all line-ups, and balls with the CG far above and below the centre."""
        outer, maps = self.outer, self.outer.maps
        rg, differential, inner = ((span.low, span.high) for span in outer.spans)
        most = outer.offset[1]
        c = tuple((-min(most, m.radius), min(most, m.radius)) for m in maps)
        densities = tuple((low, high) for low, high in outer.densities.tolist())
        box = LineupBox(c, (None,) * len(maps), (rg, differential, inner), densities)
        for k in range(len(maps)):
            rows, ends = list(outer.limit_rows(k, (-np.inf, np.inf))), list[float]()
            for sign in (-1.0, 1.0):
                end, x = self._farthest(k, sign * outer.first(k).row, rows, box)
                ends.append(end + BEYOND)
                outer.reference[k, sign] = x[: outer.n]
            box, node = self._narrowed(box, node, k, (-ends[0], ends[1]))
        return box, node

    def _narrowed(self, box: LineupBox, node: Node, k: int, ends: Range) -> Open:
        """Return the box without places of the CG of class `k` where no ball's can be."""
        near = self.outer.offset[0]
        cuts = [(ends[0], ends[0], 1), (ends[1], ends[1], 0)]
        cuts += [(-near, near, 1)] * (0.0 <= ends[0] < near)
        cuts += [(-near, near, 0)] * (-near < ends[1] <= 0.0)
        for below, above, kept in cuts:
            a, b = box.c[k]
            if a < above and below < b:
                parts = box.parted(k, below, above)
                nodes: list[Node] = [[], []]
                beyond = parts[1 - kept], nodes[1 - kept]
                if self.broken(*beyond, self._rows(k, beyond[0].c[k]))[0] > 0.0:
                    node[:] = ["c", k, below, above, *nodes]
                    box, node = parts[kept], nodes[kept]
        return box, node

    def _rows(self, k: int, c: Range) -> Iterator[ProofRow]:
        """Yield what is known of a ball of class `k` with its CG in a range."""
        yield from self.outer.limit_rows(k, c)
        yield from self.outer.place_rows(k, c)

    def _farthest(
        self, k: int, first: Array, rows: Sequence[LinearRow], box: LineupBox
    ) -> tuple[float, Array]:
        """Return how far along an axis the CG of class `k` can be, cm, and a ball with it there.

        Densities aren't negative, so no CG lies outside the ball.
        """
        radius, (light, _) = self.outer.maps[k].radius, self.outer.masses[k]
        far = Quotient(first, self.outer.mass[k].row, rows, self.outer.bounds(box))
        for step in far.steps(self.solver, -radius):
            end = step.at + max(0.0, step.left) / light
            if step.broken > SOLVER:
                break
            if end - step.reached <= BEYOND:
                return end, step.optimum.x
        return radius, step.optimum.x
