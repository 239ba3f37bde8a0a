"""The wall between convex bodies anywhere in space, from their support functions.

It is looked for everywhere on the sphere of directions, then polished: the function has kinks, so
that no step relies on a derivative.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import numpy.typing as npt

from geometry.parts import Part
from geometry.support import EVEN, Pair, ranked
from shared.arrays import Array, frozen

MOST = 12
"""So many walls of one pair are told of at most."""


def space_wall(part: Part, other: Part, *, nested: bool) -> tuple[float, Array, Array]:
    """Return the wall (cm, signed), the part's surface point at it (3,), and its direction (3,).

    Both bodies convex, or nested in a convex host; not checked here. Found from a net of
    directions and those where kinks may lie; the best few are polished.
    """
    pair = Pair(part, other, nested)
    starts, values = _starts(pair, part, other)
    n, values = polished(pair, _apart(starts[ranked(values)], 0.05)[:8], turns(part, other), 0.0)
    return found_wall(pair, n[ranked(values)[0]])


def space_walls(part: Part, other: Part, reach: float) -> tuple[tuple[float, Array, Array], ...]:
    """Return the local minima of the wall of a part in a convex host, as `space_wall` does.

    Those within `reach` (cm) of the least, MOST at most, the least first and then each as far
    from the others as can be: of those in a circle or all over the sphere, some on every side.
    """
    pair = Pair(part, other, nested=True)
    starts, values = _starts(pair, part, other)
    starts = starts[ranked(values)]
    chosen = np.vstack([_apart(starts, 0.05)[:8], _spread(starts, 3 * MOST)])
    n, values = polished(pair, chosen, turns(part, other), reach)
    kept = ranked(values)[np.sort(values) <= np.min(values) + reach + EVEN]
    return tuple(found_wall(pair, direction) for direction in _spread(_apart(n[kept], 1e-3), MOST))


def _starts(pair: Pair, part: Part, other: Part) -> tuple[Array, Array]:
    """Return directions (k, 3) from which to look for a least cost, and the cost (k,) there."""
    net, near = _net(1500)
    values = pair.cost(net)
    valleys = net[values <= values[near].min(axis=1)]
    between = other.matrix[:3, 3] - part.matrix[:3, 3]
    flats = np.vstack([part.flats, other.flats * (1 if pair.nested else -1)])
    extra = np.vstack([flats, np.eye(3), -np.eye(3), between, -between])
    length = np.linalg.norm(extra, axis=1, keepdims=True)
    starts = np.vstack([valleys, (extra / np.maximum(length, EVEN))[length[:, 0] > EVEN]])
    return starts, pair.cost(starts)


def _apart(n: Array, angle: float) -> Array:
    """Return of unit vectors `n` (k, 3) those farther than `angle` from all before them."""
    kept: list[Array] = []
    for one in n:
        if all(one @ other < np.cos(angle) for other in kept):
            kept.append(one)
    return np.array(kept)


def _spread(n: Array, most: int) -> Array:
    """Return at most so many of `n` (k, 3): the first, then the farthest from all before."""
    kept = [0]
    near = n @ n[0]
    while len(kept) < min(most, len(n)):
        kept.append(int(np.argmin(near)))
        near = np.maximum(near, n @ n[kept[-1]])
    return n[kept]


def found_wall(pair: Pair, n: Array) -> tuple[float, Array, Array]:
    """Return the wall along `n` (3,), the part's surface point at it (3,), and `n`."""
    return pair.wall(n, lambda: _rays(n[None], np.array([1e-7]), 0.0)[0])


def polished(
    pair: Pair, n: Array, turns: Callable[[Array, Array], Array], reach: float
) -> tuple[Array, Array]:
    """Return the directions (k, 3) reached from the starts `n` (k, 3), and their cost (k,).

    By pattern search.

    A step that finds nothing better is halved, one that does is lengthened. The steps turn `n`
    about each body's own axes (its kinks lie along such circles), go outward in eight directions
    that change each time, and go on as the last step went. A start that can't come within `reach`
    of the best by a hundred steps (20 cm a radian) is given up.
    """
    value, step, last = pair.cost(n), np.full(len(n), 0.04), np.zeros_like(n)
    for k in range(400):
        live = (step > 1e-11) & (value < value.min() + reach + 2000 * step)
        if not live.any():
            break
        base, size = n[live], step[live]
        trial = np.concatenate(
            [turns(base, size), _rays(base, size, 2.4 * k), _onward(base, last[live])], axis=1
        )
        trial /= np.linalg.norm(trial, axis=2, keepdims=True)
        values = pair.cost(trial.reshape(-1, 3)).reshape(trial.shape[:2])
        pick = np.argmin(values, axis=1)
        rows = np.arange(len(pick))
        better = values[rows, pick] < value[live] - EVEN
        moved = np.where(better[:, None], trial[rows, pick], base)
        n[live], last[live] = moved, moved - base
        value[live] = np.where(better, values[rows, pick], value[live])
        step[live] = np.where(better, np.minimum(1.5 * size, 0.2), size / 2)
    return n, value


def turns(*bodies: Part) -> Callable[[Array, Array], Array]:
    """Return the steps that turn n by ± an angle about the bodies' own axes.

    A body's local direction is m = Aᵀn; turning m by R turns n to A⁻ᵀRAᵀn.
    """
    K = np.zeros((3, 3, 3))
    K[[0, 1, 2], [1, 2, 0], [2, 0, 1]], K[[0, 1, 2], [2, 0, 1], [1, 2, 0]] = -1, 1
    first, second = [], []
    for body in bodies:
        At = body.matrix[:3, :3].T
        first.append(np.linalg.inv(At) @ K @ At)
        second.append(np.linalg.inv(At) @ K @ K @ At)
    G, H = np.concatenate(first), np.concatenate(second)

    def turned(n: Array, angle: Array) -> Array:
        sine, rest = np.sin(angle)[:, None, None], 2 * np.sin(angle / 2)[:, None, None] ** 2
        about, back = np.einsum("mij,kj->kmi", G, n), np.einsum("mij,kj->kmi", H, n)
        level = n[:, None] + rest * back
        return np.concatenate([level + sine * about, level - sine * about], axis=1)

    return turned


def _rays(n: Array, angle: Array, phase: float) -> Array:
    """Return (k, 8, 3): `n` moved by `angle` in eight directions along the sphere."""
    e, f = _tangents(n)
    bearing = phase + np.pi / 4 * np.arange(8)[None, :, None]
    out = np.cos(bearing) * e[:, None] + np.sin(bearing) * f[:, None]
    return np.asarray(n[:, None] + np.tan(angle)[:, None, None] * out)


def _onward(n: Array, last: Array) -> Array:
    """Return (k, 2, 3): `n` moved once and four times as the last step went."""
    return n[:, None] + np.array([1.0, 4.0])[None, :, None] * last[:, None]


def _tangents(n: Array) -> tuple[Array, Array]:
    """Return two unit vectors (k, 3) square to each other and to each of `n` (k, 3)."""
    e = _cross(n, np.eye(3)[np.argmin(np.abs(n), axis=1)])
    e /= np.linalg.norm(e, axis=1, keepdims=True)
    return e, _cross(n, e)


def _cross(a: Array, b: Array) -> Array:
    """Return a × b (k, 3): of a few vectors in half the time of numpy's."""
    after, before = [1, 2, 0], [2, 0, 1]
    return np.asarray(a[:, after] * b[:, before] - a[:, before] * b[:, after])


@cache
def _net(count: int) -> tuple[Array, npt.NDArray[np.intp]]:
    """Return `count` directions spread evenly over the sphere, and the six nearest to each.

    Fibonacci's net: steps of equal height, turned by the golden angle each.
    """
    z = 1 - (2 * np.arange(count) + 1) / count
    azimuth = np.pi * (3 - np.sqrt(5)) * np.arange(count)
    level = np.sqrt(1 - z * z)
    net = np.stack([level * np.cos(azimuth), level * np.sin(azimuth), z], axis=1)
    near = np.argpartition(-net @ net.T, 7, axis=1)[:, :7]
    return frozen(net), near
