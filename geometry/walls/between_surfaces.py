"""The wall between any two solids, from their surfaces: branch and bound with a stated error.

Two cells whose middles are d apart along the unit vector w are no closer than d minus the extent of
each along w. Where the surfaces are closest, w is normal to both, so this bound is off by only the
square of the cells' size, and few pairs survive a halving.
"""

from __future__ import annotations

from operator import attrgetter
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from geometry.nearest import tree_of
from geometry.surfaces.cells import Cells, bounds, near_pairs, nearest_middle, pairs_within
from geometry.surfaces.surface import Surface
from geometry.surfaces.triangles import nearest_triangles
from geometry.walls.closest_points import settled
from geometry.walls.support_functions import Gap
from shared.arrays import Array, Index, Mask

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

TOLERANCE = 1e-7
"""cm. The error at which the search for a least distance stops."""
ENOUGH = 1e-3
"""cm. The same for the depth of surfaces that cross: they must be redrawn anyway."""
SHARP = 1e-4
"""cm. The same for the first, quick search among the nearest of many pairs."""
CELLS = 512
"""Cells that a search begins with, or one per patch; it subdivides them as needed."""
SAMPLES = 16_384
"""Points of a surface, or one per patch, that are tested for the side they are on."""
POINTS = 200
"""The most cells that are kept at a time in the search for a depth."""
FIRST = 2048
"""The most cells that this search begins with."""
PAIRS = 60_000
"""The most pairs that are kept at a time; the bounds of the others go into the error."""
WORK = 600_000
"""The most pairs that the search for one least distance may test."""


class Nearest(NamedTuple):
    """For each group: the least distance found (g,), from `a` (g, 3) to `b` (g, 3).

    `error` (cm) bounds, for all groups, how far the true distance may be below it; `places` are a
    and b as cells of no size.
    """

    distance: Array
    error: float
    a: Array
    b: Array
    places: tuple[Cells, Cells]


class Reach(NamedTuple):
    """How deep a surface reaches beyond another, and the error, cm; negative if no point does.

    `ends` (2, 3) are the deepest point, and the other surface's point nearest to it.
    """

    depth: float
    error: float
    ends: Array


def surface_wall(part: Surface, other: Surface, *, nested: bool) -> Gap:
    """Return the wall between a part and its host (`nested`) or its neighbour.

    If they cross, it is minus the depth to which the part's surface reaches out of its host, or
    either surface into the other body (the host's into the part, if none of the part's is out).
    """
    out = bool(np.any(other.inside(samples(part)) != nested))
    if not (out or part.inside(samples(other)).any()):
        a, b, error = _closest(part, other)
        d = float(np.linalg.norm(b - a))
        if d > error:
            return Gap(d, error, a, (b - a) / d)
    return _crossing(part, other, nested=nested, out=out)


def _closest(part: Surface, other: Surface) -> tuple[Array, Array, float]:
    """Return the closest points (3,) of two surfaces, and the error of their distance, cm."""
    if part.triangles is not None and other.triangles is not None:
        return *nearest_triangles(part.triangles, other.triangles), TOLERANCE
    near = least_distance(part, other)
    if near.distance[0] <= near.error:
        return near.a[0], near.b[0], near.error
    a, b = settled(part, other, *near.places)
    return a[0], b[0], near.error


def least_distance(first: Surface, second: Surface) -> Nearest:
    """Return the least distance between two surfaces, on whichever side: a single group."""
    a, b = first.about(CELLS, 8), second.about(CELLS, 8)
    if max(len(a), len(b)) > 2 * CELLS:  # if one has many patches, match the other's cell size
        a, b = (s.about(max(len(a), len(b)) // 4, 64) for s in (first, second))
    views = first.view(a), second.view(b)
    i, j = near_pairs(*views)
    if len(i) > PAIRS:
        bound = bounds(*views, i, j)
        few = np.argsort(bound, kind="stable")[: PAIRS // 4]
        none = np.zeros(len(few), dtype=np.intp)
        near = nearest(first, second, a[i[few]], b[j[few]], none, tolerance=SHARP)
        i, j = i[bound <= near.distance[0]], j[bound <= near.distance[0]]
    return nearest(first, second, a[i], b[j], np.zeros(len(i), dtype=np.intp), tolerance=TOLERANCE)


def samples(surface: Surface) -> Array:
    """Return sample points (n, 3) of a surface."""
    many = len(surface.sweep) > SAMPLES
    return surface.view(surface.cells(1, 1) if many else surface.about(SAMPLES, 32)).points


def nearest(
    first: Surface, second: Surface, a: Cells, b: Cells, group: Index, *, tolerance: float
) -> Nearest:
    """Return the least distance in each `group` (n,) of pairs of cells `a` and `b` (n)."""
    count = int(group.max()) + 1
    best = np.full(count, np.inf)
    patch = np.zeros((2, count), dtype=np.intp)
    middle = np.zeros((2, count, 2))
    unseen = tolerance
    slack = np.empty(0)
    work = -len(group)
    while len(group) and work < WORK:
        work += len(group)
        view_a, view_b = first.view(a), second.view(b)
        across = view_b.points - view_a.points
        distance = np.linalg.norm(across, axis=1)
        order = np.lexsort((distance, group))
        lead = order[np.searchsorted(group[order], np.unique(group))]
        lead = lead[distance[lead] < best[group[lead]]]
        best[group[lead]] = distance[lead]
        patch[:, group[lead]] = a.patch[lead], b.patch[lead]
        middle[:, group[lead]] = a.middle[lead], b.middle[lead]

        w = across / np.where(distance > 0, distance, 1)[:, None]
        shares_a, shares_b = view_a.shares(w), view_b.shares(w)
        bound = np.maximum(distance - shares_a.sum(axis=1) - shares_b.sum(axis=1), 0)
        slack = best[group] - bound
        kept = np.flatnonzero(slack > tolerance)
        if len(kept) > PAIRS:
            kept = kept[np.argsort(-slack[kept], kind="stable")]
            unseen = max(unseen, float(slack[kept[PAIRS]]))
            kept = kept[:PAIRS]
        slack = slack[kept]
        shares_a, shares_b = shares_a[kept], shares_b[kept]
        a, b, group = a[kept], b[kept], group[kept]
        most_a, most_b = shares_a.max(axis=1), shares_b.max(axis=1)
        a, origin = a.halved(np.argmax(shares_a, axis=1), most_a > most_b / 4)
        b, group = b[origin], group[origin]
        b, origin = b.halved(np.argmax(shares_b, axis=1)[origin], (most_b > most_a / 4)[origin])
        a, group = a[origin], group[origin]
    error = max(unseen, float(slack.max(initial=0.0)))
    p, q = (Cells(*of, np.zeros((count, 2))) for of in zip(patch, middle, strict=True))
    return Nearest(best, error, first.view(p).points, second.view(q).points, (p, q))


def _crossing(part: Surface, other: Surface, *, nested: bool, out: bool) -> Gap:
    """Return the wall of two surfaces that cross, touch, or are on the wrong side of each other."""
    reach = _reach(part, other, within=not nested)
    if not nested or not out:
        back = _reach(other, part, within=True)
        reach = max(reach, back._replace(ends=back.ends[::-1]), key=attrgetter("depth"))
    past = (reach.ends[0] - reach.ends[1]) * np.sign(reach.depth)
    length = float(np.linalg.norm(past))
    direction = past / length if length > 0 else np.array([0.0, 0.0, 1.0])
    return Gap(-reach.depth, reach.error, reach.ends[0], direction)


def _reach(first: Surface, second: Surface, *, within: bool) -> Reach:
    """Return a lower bound on how deep `first` reaches `within` the second solid, or out of it."""
    cells, best, error = first.about(CELLS, 8), -np.inf, np.inf
    ends = np.zeros((2, 3))
    targets = second.about(CELLS // 4, 4)
    aims = second.view(targets)
    tree = tree_of(aims.points)
    cells, hidden = _deepest(first, second, cells, tree, float(aims.radius.max()), within=within)
    for _ in range(12):
        view = first.view(cells)
        i, j = pairs_within(view.points, nearest_middle(tree, view.points), aims)
        fixed = Cells(cells.patch, cells.middle, np.zeros_like(cells.half))
        fine = max(0.02 * float(view.radius.max()), TOLERANCE)
        near = nearest(first, second, fixed[i], targets[j], i, tolerance=fine)
        wrong: Mask = second.inside(view.points) == within
        depth = np.where(wrong, near.distance - near.error, -near.distance)
        top = int(np.argmax(depth))
        if depth[top] > best:
            best, ends = float(depth[top]), np.stack([near.a[top], near.b[top]])
        # a point of the cell is no farther from the second surface than from the point nearest to
        # the middle: at most sqrt((d + e)² + r²), e the extent that way and r the cell's radius
        w = (near.a - near.b) / np.where(near.distance > 0, near.distance, 1)[:, None]
        along = near.distance + view.shares(w).sum(axis=1)
        upper = np.where(wrong, np.hypot(along, view.radius), np.inf)
        upper = np.minimum(upper, depth + view.radius + near.error)
        error = max(float(upper.max()) - best, hidden - best, ENOUGH / 2)
        kept = np.flatnonzero(upper > best + ENOUGH / 2)
        if len(kept) == 0 or error < ENOUGH:
            break
        if len(kept) > POINTS:
            kept = kept[np.argsort(-upper[kept], kind="stable")]
            hidden = max(hidden, float(upper[kept[POINTS]]))
            kept = kept[:POINTS]
        shares = np.linalg.norm(view.spans, axis=2) + view.rest
        cells, _ = cells[kept].halved(np.argmax(shares[kept], axis=1), kept >= 0)
    return Reach(best, error, ends)


def _deepest(
    first: Surface, second: Surface, cells: Cells, tree: cKDTree, wide: float, *, within: bool
) -> tuple[Cells, float]:
    """Return the FIRST cells that may reach deepest, and an upper bound on the others' depth.

    `tree` holds the middles of the second surface's cells, whose radius is at most `wide`.
    """
    if len(cells) <= FIRST:
        return cells, -np.inf
    view = first.view(cells)
    far = nearest_middle(tree, view.points)
    wrong = second.inside(view.points) == within
    upper = np.where(wrong, far, np.minimum(wide - far, 0.0)) + view.radius
    order = np.argsort(-upper, kind="stable")
    return cells[order[:FIRST]], float(upper[order[FIRST]])
