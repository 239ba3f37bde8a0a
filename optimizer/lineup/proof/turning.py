"""How boxes of line-ups off the pin axis are narrowed, and where they are split."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from math import inf

import numpy as np

from optimizer.lineup.proof.affine import Range
from optimizer.lineup.proof.boxes import BEYOND, LineupBox, Node, Open, fallen
from optimizer.lineup.proof.cones import FACES, Cone, TurnedBox
from optimizer.lineup.proof.quotient import Quotient
from optimizer.lineup.proof.splitting import TIGHT, Splits
from optimizer.lineup.proof.tilted import Tilted
from optimizer.lineup.target_rows import SORTED
from shared.arrays import Array

NARROWED = ("c", "products")
"""The ranges that are narrowed before a box is split, in their order."""
NODES = {"c": "place", "products": "product"}
"""What a proof calls the nodes that cut them."""
WIDER = 1e-5
"""Share of a range by which one within it is widened, so that it is easily shown to be enough."""
NEAR, TRIES = 1e-3, 4
"""A bound this near to what is reached (cm, cm²), or after so many programs, is good enough."""

Gap = tuple[float, str, int]
"""cm² by which a column is off; the name and the number of what would help, if it were split."""


@dataclass(frozen=True, eq=False)
class TurningSplits(Splits):
    """How boxes of a line-up are split off the pin axis; at first, they are narrowed."""

    outer: Tilted

    def start(self, node: Node) -> Open:
        """Return the box of all line-ups: no CG is outside the ball, nor |c| above a limit."""
        outer, figures = self.outer, tuple((span.low, span.high) for span in self.outer.spans)
        c, products = list[Range](), list[Range]()
        for k, linear_map in enumerate(outer.maps):
            most = min(linear_map.radius, outer.offset[1])
            (low, high), (_, apart), _ = outer.own(k, figures)
            size = float(outer.frames[k][0] @ outer.frames[k][0])
            widest = ((high + apart) ** 2 - low**2) / 2 * size
            c += 3 * [(-most, most)]
            products += 3 * [(-widest, widest)]
        count = len(outer.maps)
        orders, cones = count * (SORTED,), 2 * count * (None,)
        densities = tuple((low, high) for low, high in outer.densities.tolist())
        ranges = tuple(c), orders, figures, densities
        box, inside = TurnedBox(*ranges, cones=cones, products=tuple(products)), Node()
        node[:] = ["frames", [frame.tolist() for frame in outer.frames], inside]
        return box, inside

    def split(self, box: LineupBox, node: Node, x: Array) -> list[Open]:
        """Return smaller boxes that cover `box`, or none if there is nothing to split."""
        assert isinstance(box, TurnedBox)  # noqa: S101 - for mypy: they are made in `start`
        if box.narrow < len(NARROWED):
            return [self.narrowed(box, node)]
        i, loose = self.loose(box, x)
        gap, name, number = max(gaps(self.outer, box, x))
        if max(gap, loose) <= TIGHT:
            return []
        if loose >= gap:
            return self.halved(box, node, i)
        if name == "c":
            middle = sum(box.c[number]) / 2
            kind = [NODES[name], *divmod(number, 3), middle]
            return fallen(node, kind, box.cut(name, number, middle))
        cones = smaller_cones(self.outer, box, number, x)
        ends = [[cone.face, *cone.s, *cone.t] for cone in cones]
        return fallen(node, ["cone", *divmod(number, 2)], box.coned(number, cones), keys=ends)

    def narrowed(self, box: TurnedBox, node: Node) -> tuple[TurnedBox, Node]:
        """Return the box less what is easily shown to be empty by its next kind of ranges."""
        name = NARROWED[box.narrow]
        for number, (low, high) in enumerate(getattr(box, name)):
            k, i = divmod(number, 3)
            row = self.outer.firsts[k][i] if name == "c" else self.outer.product(k, i)
            spare = BEYOND + WIDER * (high - low)
            for kept, sign in ((1, -1.0), (0, 1.0)):
                end = self._most(box, k, sign * row) + spare
                at = min(max(sign * end, low + spare), high - spare)
                if end >= sign * (high if kept == 0 else low) or not low < at < high:
                    continue
                parts, nodes = box.cut(name, number, at), list[Node]([[], []])
                beyond = parts[1 - kept]
                if self.broken(beyond, nodes[1 - kept], self.outer.rows(beyond))[0] > 0.0:
                    node[:] = [NODES[name], k, i, at, *nodes]
                    box, node = parts[kept], nodes[kept]
        return replace(box, narrow=box.narrow + 1), node

    def _most(self, box: TurnedBox, k: int, figure: Array) -> float:
        """Return about what a figure ÷ m of class `k` is at most in a box, which may be empty.

        `figure` (c,) is a row over the columns.
        """
        mass, (light, heavy) = self.outer.mass[k].row, self.outer.masses[k]
        far, most = Quotient(figure, mass, [*self.outer.rows(box)], self.outer.bounds(box)), inf
        for step in islice(far.steps(self.solver, 0.0), TRIES):
            left = step.left_at_most
            most = min(most, step.at + left / (light if left > 0.0 else heavy))
            if light == heavy or most - max(step.at, step.reached) < NEAR:
                break
        return most


def gaps(outer: Tilted, box: TurnedBox, x: Array) -> Iterator[Gap]:
    """Yield how far columns are, at `x`, from what they stand for; `c` or `cones` would help."""
    for k, P in enumerate(outer.levers):
        F, m, (low, high) = outer.firsts[k] @ x, float(outer.mass[k].row @ x), outer.extremes[k] @ x
        off = np.abs(P @ x - np.outer(F, F) / m)
        i, j = np.unravel_index(np.argmax(off), off.shape)
        widths = np.ptp(box.c[3 * k : 3 * k + 3], axis=1)
        yield float(off[i, j]), "c", 3 * k + int(i if widths[i] >= widths[j] else j)
        inertia = np.linalg.eigvalsh(outer.inertia[k] @ x)
        yield float(inertia[0] - low), "cones", 2 * k
        yield float(high - inertia[2]), "cones", 2 * k + 1


def smaller_cones(outer: Tilted, box: TurnedBox, number: int, x: Array) -> tuple[Cone, ...]:
    """Return cones that one of the box's falls into: round the axis at `x`, and beside it.

    Of its two sides, that one is cut whose width leaves more room in the rows.
    """
    (k, end), cone = divmod(number, 2), box.cones[number]
    if cone is None:
        return FACES
    e, sides = cone.basis(outer.frames[k]), np.array([cone.s, cone.t])
    N, half = e @ (outer.kernel(k, end) @ x) @ e.T, np.ptp(sides, axis=1) / 2
    rooms = np.zeros((3, 3))
    for pair, (low, high) in enumerate(box.products[3 * k : 3 * k + 3]):
        rooms[cone.turned(pair)] = rooms[cone.turned(pair)[::-1]] = max(0.0, min(-low, high))
    side = int(np.argmax(half**2 * np.diag(N)[1:] + half * rooms[0, 1:]))
    along = np.linalg.solve(e.T, np.linalg.eigh(outer.inertia[k] @ x)[1][:, 2 * end])
    (low, high), width = sides[side].tolist(), float(half[side])
    at = float(along[side + 1] / along[0]) if along[0] else high
    if low + 0.2 * width < at < high - 0.2 * width:
        return cone.cut(side, max(low, at - width / 3), min(high, at + width / 3))
    return cone.cut(side, (low + high) / 2)
