"""The least distance between two surfaces of flat triangles, exact up to rounding."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from geometry.surfaces.boxes import Boxes, near
from shared.arrays import Array, Mask

FIRST: Final = 1000
"""Pairs of triangles that are measured first; after each batch, twice as many..."""
BATCH: Final = 16_000
"""...up to these."""
NEXT: Final = (1, 2, 0)


def nearest_triangles(first: Array, second: Array) -> tuple[Array, Array]:
    """Return the nearest points (3,), (3,) of triangles (m, 3, 3) and triangles (n, 3, 3).

    Pairs are measured in the order of a lower bound on their distance, until no other can be less:
    the gap between the two along the line from middle to middle. Raises InputError as `near` does.
    """
    i, j = near(Boxes.around(first), Boxes.around(second))
    bound = np.concatenate(
        [
            _bounds(first[i[k : k + BATCH]], second[j[k : k + BATCH]])
            for k in range(0, len(i), BATCH)
        ]
    )
    order = np.argsort(bound, kind="stable")
    least, ends = np.inf, (first[0, 0], second[0, 0])
    begin, many = 0, FIRST
    while begin < len(order) and bound[order[begin]] < least:
        some = order[begin : begin + many]
        p, q = closest(first[i[some]], second[j[some]])
        distance = np.linalg.norm(q - p, axis=1)
        k = int(np.argmin(distance))
        if distance[k] < least:
            least, ends = distance[k], (p[k], q[k])
        begin, many = begin + many, min(2 * many, BATCH)
    return ends


def _bounds(a: Array, b: Array) -> Array:
    """Return lower bounds (k,) on the distances of triangles (k, 3, 3)."""
    across = b.mean(axis=1) - a.mean(axis=1)
    length = np.linalg.norm(across, axis=1)
    w = across / np.where(length > 0, length, 1.0)[:, None]
    start, end = np.einsum("kij,kj->ki", a, w), np.einsum("kij,kj->ki", b, w)
    return np.asarray(end.min(axis=1) - start.max(axis=1))


def closest(a: Array, b: Array) -> tuple[Array, Array]:
    """Return the closest points (k, 3) of triangles (k, 3, 3) `a` and `b`.

    Of triangles that don't meet they lie on two sides, or on a corner and a face; where a side of
    one goes through the other, they are there.
    """
    found = [_on_sides(a, b), *_through(a, b), *(pair[::-1] for pair in _through(b, a))]
    p, q = (np.stack(of) for of in zip(*found, strict=True))
    best = np.argmin(np.einsum("cki,cki->ck", q - p, q - p), axis=0)
    k = np.arange(len(a))
    return p[best, k], q[best, k]


def _on_sides(a: Array, b: Array) -> tuple[Array, Array]:
    """Return the closest points (k, 3) of the triangles' sides.

    From p + s·u to q + t·v, the best of two lines, then of what lies between the ends of each
    (Ericson, Real-Time Collision Detection (2005) 5.1.9; from memory).
    """
    p, q = a[:, :, None], b[:, None]
    u, v = a[:, NEXT][:, :, None] - p, b[:, NEXT][:, None] - q
    w = p - q
    uu, vv = (np.einsum("kijx,kijx->kij", x, x) for x in (u, v))
    uv, uw, vw = (
        np.einsum("kijx,kijx->kij", *np.broadcast_arrays(x, y)) for x, y in ((u, v), (u, w), (v, w))
    )
    cross = uu * vv - uv * uv
    s = np.clip(
        np.where(cross > 0, (uv * vw - uw * vv) / np.where(cross > 0, cross, 1.0), 0.0), 0.0, 1.0
    )
    t = np.clip((uv * s + vw) / vv, 0.0, 1.0)
    s = np.clip((uv * t - uw) / uu, 0.0, 1.0)
    gap = w + s[..., None] * u - t[..., None] * v
    best = np.argmin(np.einsum("kijx,kijx->kij", gap, gap).reshape(len(a), 9), axis=1)
    k, (i, j) = np.arange(len(a)), np.divmod(best, 3)
    on_a = a[k, i] + s[k, i, j][:, None] * u[k, i, 0]
    on_b = b[k, j] + t[k, i, j][:, None] * v[k, 0, j]
    return on_a, on_b


def _through(a: Array, b: Array) -> Iterator[tuple[Array, Array]]:
    """Yield the corners of `a` with their feet on `b`, and where its sides go through `b`, twice.

    The second point (k, 3) is infinitely far where there is no such place.
    """
    n = np.cross(b[:, 1] - b[:, 0], b[:, 2] - b[:, 0])
    square = np.einsum("kx,kx->k", n, n)
    flat = square == 0.0
    height = np.einsum("kix,kx->ki", a - b[:, :1], n) / np.where(flat, 1.0, square)[:, None]
    inward = np.cross(n[:, None], b[:, NEXT] - b)

    def on(points: Array, sought: Mask) -> Array:
        beside = np.einsum("kix,kix->ki", points[:, None] - b, inward)
        return np.where((sought & ~flat & np.all(beside >= 0.0, axis=1))[:, None], points, np.inf)

    for k, end in enumerate(NEXT):
        yield a[:, k], on(a[:, k] - height[:, k, None] * n, ~flat)
        crosses = height[:, k] * height[:, end] < 0.0
        fall = np.where(crosses, height[:, k] - height[:, end], 1.0)
        point = a[:, k] + (height[:, k] / fall)[:, None] * (a[:, end] - a[:, k])
        yield point, on(point, crosses)
