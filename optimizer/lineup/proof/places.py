"""Where the CGs of a line-up can be, with its parts on the pin axis."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.linear_solver import LinearSolver, Optimum, Rows
from optimizer.lineup.proof.affine import ProofRow, Range
from optimizer.lineup.proof.boxes import BEYOND, LineupBox, Node
from optimizer.lineup.proof.relaxation import Outer
from shared.arrays import Array
from shared.tolerances import SOLVER


@dataclass(frozen=True, eq=False)
class Places:
    """Cuts from a box where no CG can be; `broken` makes the leaf that shows it."""

    outer: Outer
    solver: LinearSolver
    broken: Callable[[LineupBox, Node, Iterable[ProofRow]], tuple[float, Optimum]]

    def whole(self, node: Node) -> tuple[LineupBox, Node]:
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

    def _narrowed(self, box: LineupBox, node: Node, k: int, ends: Range) -> tuple[LineupBox, Node]:
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

        The greatest quotient of two linear figures, `first` and the mass, by Dinkelbach's method
        (1967; from memory): c rises from below, and first − c · mass bounds what remains.
        Densities aren't negative, so no CG lies outside the ball.
        """
        mass, c = self.outer.mass[k].row, -self.outer.maps[k].radius
        while True:
            beyond = first - c * mass
            far = LinearRow(Name("far"), beyond, 1e3, np.inf, price=1e-3)
            stacked = Rows.of([*rows, far])
            x = self.solver.best(stacked, *self.outer.bounds(box)).x
            left = max(0.0, float(beyond @ x))
            end, c = c + left / self.outer.masses[k][0], float(first @ x) / float(mass @ x)
            if float(np.sum(stacked.broken(x)[:-1])) > SOLVER:
                return self.outer.maps[k].radius, x
            if end - c <= BEYOND:
                return end, x
