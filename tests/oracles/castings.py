"""Balls cast with errors of density, in plain numpy: how many are good.

Moments come as numbers, (n, 4, 4) of unit density about the ball's centre. RGs are about the centre
of gravity. Samples are independent pseudo-random numbers.
"""

from __future__ import annotations

import numpy as np

Array = np.ndarray


def figures(moments: Array, densities: Array) -> Array:
    """Return weight, low RG and differential (k, 3) of balls of densities (k, n), g and cm."""
    J = np.einsum("kn,nij->kij", densities, moments)
    mass = J[:, 3, 3]
    centre = J[:, :3, 3] / mass[:, None]
    second = J[:, :3, :3] / mass[:, None, None] - np.einsum("ki,kj->kij", centre, centre)
    inertia = np.trace(second, axis1=1, axis2=2)[:, None, None] * np.eye(3) - second
    radii = np.sqrt(np.linalg.eigvalsh(inertia))
    return np.column_stack([mass, radii[:, 0], radii[:, 2] - radii[:, 0]])


def good(moments: Array, densities: Array, target: Array, tolerance: Array) -> Array:
    """Return which balls are within the tolerances (3,) of the target (3,)."""
    off = np.abs(figures(moments, densities) - target)
    return np.all(off <= tolerance, axis=1)


def uniform(half: Array, count: int, seed: int) -> Array:
    """Return errors (count, n), each anything within ± half (n,)."""
    return np.random.default_rng(seed).uniform(-1.0, 1.0, (count, len(half))) * half


def corrected(
    moments: Array,
    nominal: Array,
    errors: Array,
    *,
    tolerance: Array,
    sd: Array,
    order: list[int],
    ends: tuple[Array, Array],
    steps: Array | None,
    misread: Array,
    weighed: set[int],
) -> Array:
    """Return densities (k, n) of castings whose set-points answer to what earlier ones weigh.

    Of the moves of this and the later castings, that bring the figures back as least squares can in
    units of their tolerances, the least in units of `sd`. `errors` (k, n) are the castings' own,
    `misread` (k, n) the scale's as densities; with `steps` (n,) set-points are multiples of them.
    """
    step = 1e-4 * np.eye(len(nominal))
    slopes = (figures(moments, nominal + step) - figures(moments, nominal - step)).T / 2e-4
    slopes /= tolerance[:, None]
    cast, off = np.tile(nominal, (len(errors), 1)), np.zeros_like(errors)
    for k, place in enumerate(order):
        later = order[k:]
        aim = -(slopes @ off.T)
        asked = np.linalg.lstsq(slopes[:, later] * sd[later], aim, rcond=None)[0][0] * sd[place]
        point = np.clip(nominal[place] + asked, ends[0][place], ends[1][place])
        if steps is not None:
            point = np.round(point / steps[place]) * steps[place]
        cast[:, place] = point + errors[:, place]
        off[:, place] = (
            cast[:, place] + misread[:, place] if place in weighed else point
        ) - nominal[place]
    return cast
