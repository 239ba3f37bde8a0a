"""How boxes of line-ups off the pin axis are narrowed, and where they are split."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.linear_solver import LinearSolver, Optimum, Rows
from optimizer.lineup.proof.affine import ProofRow, Range
from optimizer.lineup.proof.boxes import BEYOND, LineupBox, Node
from optimizer.lineup.proof.cones import FACES, Cone, TurnedBox
from optimizer.lineup.proof.duality import asked_beyond, multipliers
from optimizer.lineup.proof.tilted import Tilted
from optimizer.lineup.target_rows import SORTED
from shared.arrays import Array

NARROWED = ("c", "products")
"""The ranges that are narrowed before a box is split, in their order."""
NODES = {"c": "place", "products": "product"}
"""What a proof calls the nodes that cut them."""
WIDER = 1e-5
"""Share of a range by which one within it is widened, so that it is easily shown to be enough."""
FAR = 1e3
"""cm, cm²: more than a figure ÷ m is; of what exceeds it, nothing is known."""
NEAR, TRIES = 1e-3, 4
"""A bound this near to what is reached (cm, cm²), or after so many programs, is good enough."""

Gap = tuple[float, str, int]
"""cm² by which a column is off; the name and the number of what would help, if it were split."""


def whole(outer: Tilted) -> TurnedBox:
    """Return the box of all line-ups: no CG is outside the ball, nor |c| above a limit."""
    figures = tuple((span.low, span.high) for span in outer.spans)
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
    return TurnedBox(*ranges, cones=cones, products=tuple(products))


@dataclass(frozen=True, eq=False)
class Narrower:
    """Cuts from a box what is easily shown to be empty; `broken` makes the leaf that shows it."""

    outer: Tilted
    solver: LinearSolver
    broken: Callable[[LineupBox, Node, Iterable[ProofRow]], tuple[float, Optimum]]

    def box(self, box: TurnedBox, node: Node) -> tuple[TurnedBox, Node]:
        """Return the box with its next kind of ranges narrowed, and its node."""
        name = NARROWED[box.narrow]
        for number, (low, high) in enumerate(getattr(box, name)):
            k, i = divmod(number, 3)
            row = self.outer.F[k][i] if name == "c" else self.outer.product(k, i)
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
        """Return about what a figure ÷ m of class `k` is at most in a box.

        By weak duality, so that it says something of an empty box, too; the quotient is found by
        Dinkelbach's method. `figure` (c,) is a row over the columns.
        """
        mass, (light, heavy) = self.outer.mass[k].row, self.outer.masses[k]
        rows, bounds = list[LinearRow](self.outer.rows(box)), self.outer.bounds(box)
        most, at = inf, 0.0
        for _ in range(TRIES):
            far = LinearRow(Name("far"), figure - at * mass, FAR, inf, price=1.0 / FAR)
            stacked = Rows.of([*rows, far])
            optimum = self.solver.best(stacked, *bounds)
            y = multipliers(stacked, np.clip(optimum.duals, -stacked.price, stacked.price))
            left = FAR * (1.0 - asked_beyond(stacked, y, *bounds))
            most = min(most, at + left / (light if left > 0.0 else heavy))
            reached = float(figure @ optimum.x) / float(mass @ optimum.x)
            if light == heavy or most - max(at, reached) < NEAR:
                break
            at = reached
        return most


def parts(outer: Tilted, box: TurnedBox, name: str, number: int, x: Array) -> tuple[TurnedBox, ...]:
    """Return the box split by one of its ranges of `c`, halfway, or by one of its `cones`."""
    if name == "c":
        return box.cut("c", number, sum(box.c[number]) / 2)
    return box.coned(number, smaller_cones(outer, box, number, x))


def node(
    box: TurnedBox, parts: Sequence[TurnedBox], name: str, number: int, nodes: Sequence[Node]
) -> Node:
    """Return the node of a box that falls into `parts`, with their `nodes`."""
    if name == "c":
        return [NODES[name], *divmod(number, 3), sum(box.c[number]) / 2, *nodes]
    ends = [[cone.face, *cone.s, *cone.t] for part in parts if (cone := part.cones[number])]
    return ["cone", *divmod(number, 2), *map(list, zip(ends, nodes, strict=True))]


def gaps(outer: Tilted, box: TurnedBox, x: Array) -> Iterator[Gap]:
    """Yield how far columns are, at `x`, from what they stand for; `c` or `cones` would help."""
    for k, P in enumerate(outer.P):
        F, m, (low, high) = outer.F[k] @ x, float(outer.mass[k].row @ x), outer.extremes[k] @ x
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
