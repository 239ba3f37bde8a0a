"""Faults of an outline as drawn, each with its vertices and position."""

from __future__ import annotations

from typing import Final, Literal, NamedTuple, TypeAlias

import numpy as np

from geometry.outlines.edges import Complex, Edges
from shared.arrays import Array, Index

TOUCHING: Final = 1e-9
"""Of the outline's size: edges closer than this touch. Far below a drawing's tolerances, and far
above rounding (about 1e-15)."""

Kind: TypeAlias = Literal["few", "repeated", "crossing", "folded", "axis"]

INSTEAD: Final[dict[Kind, str]] = {
    "few": "draw at least three corners, or two and an arc",
    "repeated": "leave one of them out",
    "crossing": "keep the edges apart",
    "folded": "continue from the vertex in another direction",
    "axis": "keep r at 0 or above",
}


class Fault(NamedTuple):
    """One fault: its kind, the vertices that its edges start at (from 0), the point in cm."""

    kind: Kind
    vertices: tuple[int, ...]
    point: tuple[float, float]

    def says(self, count: int) -> str:
        """Return the fault in words, in an outline of `count` vertices, counted from 1 here."""
        edges = [f"from vertex {v + 1} to {(v + 1) % count + 1}" for v in self.vertices]
        match self.kind:
            case "few":
                return f"outline has too few vertices ({count})"
            case "repeated":
                return f"vertices {self.vertices[0] + 1} and {self.vertices[1] + 1} are the same"
            case "crossing":
                pair = " and ".join(edges)
                return f"outline crosses or touches itself: the edges {pair} meet"
            case "folded":
                return f"outline folds back: the edge {edges[1]} runs along the one {edges[0]}"
            case "axis":
                return f"outline crosses the axis: the edge {edges[0]} reaches a negative r"

    @property
    def instead(self) -> str:
        """What would be right."""
        return INSTEAD[self.kind]


def faults(vertices: Array, *, axis: bool) -> tuple[Fault, ...]:
    """Return the faults of the closed outline of `vertices` (n, 3): x, y, bulge.

    Vertices are numbered as given; the last one may repeat the first, without a bulge. With `axis`
    the outline is in r and z, and may touch r = 0 or run along it, but not cross it. If vertices
    repeat, nothing else is checked.
    """
    if len(vertices) > 1 and np.all(vertices[-1] == [*vertices[0, :2], 0.0]):
        vertices = vertices[:-1]
    count = len(vertices)
    if count < 2 or (count == 2 and not np.any(vertices[:, 2])):
        point = vertices[0, :2] if count else np.zeros(2)
        return (_fault("few", (), complex(*point)),)
    edges = Edges.closed(vertices)
    if np.any(edges.chord == 0):
        same = np.flatnonzero(edges.chord == 0)
        return tuple(_fault("repeated", (int(i), int(i + 1) % count), edges.start[i]) for i in same)
    near = TOUCHING * float(np.max(np.abs(edges.start[:, None] - edges.end)))
    inmost = edges.points(edges.farthest(np.array(-1.0 + 0j)))
    beyond = np.flatnonzero(inmost.real < -near) if axis else ()
    return (*_meetings(edges, near), *(_fault("axis", (int(i),), inmost[i]) for i in beyond))


def _fault(kind: Kind, vertices: tuple[int, ...], point: complex) -> Fault:
    return Fault(kind, vertices, (float(point.real), float(point.imag)))


def _meetings(edges: Edges, near: float) -> list[Fault]:
    """Return a fault for each pair of edges that meet anywhere but at a common vertex.

    Candidates are the crossings of the circles of two edges, and the start and middle of each edge,
    to find edges that lie on each other. (Its end is the start of the next one.)
    """
    count = len(edges.start)
    i, j = close_pairs(edges, near)
    first, second = edges[i], edges[j]
    after, before = j == (i + 1) % count, i == (j + 1) % count
    points = np.concatenate([crossings(first, second), second.points(np.array([[0.0], [0.5]]))])
    meets = np.abs(first.points(first.nearest(points)) - points) <= near
    meets &= ~(after & (np.abs(points - second.start) <= near))
    meets &= ~(before & (np.abs(points - first.start) <= near))
    faults: dict[tuple[int, int], Fault] = {}
    for k in np.flatnonzero(np.any(meets, axis=0)):
        a, b = (i[k], j[k]) if after[k] or (i[k] < j[k] and not before[k]) else (j[k], i[k])
        pair = int(a), int(b)
        folded = (after[k] or before[k]) and _run_along(edges[[a]], edges[[b]], near)
        place = points[np.argmax(meets[:, k]), k]
        fault = _fault("folded" if folded else "crossing", pair, place)
        faults.setdefault((min(pair), max(pair)), fault)
    return list(faults.values())


def close_pairs(edges: Edges, near: float) -> tuple[Index, Index]:
    """Return the pairs of edges, in both orders, that are close enough to meet."""
    # no point of an edge is farther from its middle than half its length
    middle = edges.points(np.array(0.5))
    reach = (edges.length[:, None] + edges.length) / 2
    close = np.abs(middle[:, None] - middle) <= reach + near
    first, second = np.nonzero(close & ~np.eye(len(middle), dtype=bool))
    return first, second


def _run_along(first: Edges, second: Edges, near: float) -> bool:
    """Whether the shorter of two neighbours lies entirely on the longer one."""
    shorter, longer = sorted((first, second), key=lambda e: float(e.length[0]))
    p = shorter.points(np.linspace(0, 1, 5)[:, None])
    return bool(np.all(np.abs(longer.points(longer.nearest(p)) - p) <= near))


def crossings(fixed: Edges, crossing: Edges) -> Complex:
    """Return where edges `crossing` cross the circles (or lines) of edges `fixed`: (2, n) points.

    From a point p of an edge from s to e the chord turns by θ/2 (Euclid III.21), so that
    Im((p − s)·conj(e − p)·exp(½iθ)) = 0. The crossing edge is, in ratios τ : υ between its start
    and end, p = (s'υ + e'κτ)/(υ + κτ) with κ = exp(−½iθ'), which gives a real quadratic form in υ
    and τ. A common vertex is an exact root. A pair of complex roots gives a point between them,
    where the edges may touch.
    """
    bend, kappa = np.exp(0.5j * fixed.angle), np.exp(-0.5j * crossing.angle)
    a0, a1 = crossing.start - fixed.start, kappa * (crossing.end - fixed.start)
    b0, b1 = np.conj(fixed.end - crossing.start), np.conj(kappa * (fixed.end - crossing.end))
    first = (a0 * b0 * bend).imag
    mixed = ((a0 * b1 + a1 * b0) * bend).imag
    last = (a1 * b1 * bend).imag
    # first·υ² + mixed·υτ + last·τ² = 0 has the roots τ : υ = q : last and first : q
    root = np.sqrt(np.maximum(mixed**2 - 4 * first * last, 0))
    q = -(mixed + np.copysign(root, mixed)) / 2
    tau, upsilon = np.stack([q, first]), np.stack([last, q])
    total = np.abs(tau) + np.abs(upsilon)
    between = (tau * upsilon >= 0) & (total > 0)
    share = np.where(between, np.abs(tau), 0.0) / np.where(between, total, 1.0)
    to_end = kappa * share
    return np.asarray((crossing.start * (1 - share) + crossing.end * to_end) / (1 - share + to_end))
