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
