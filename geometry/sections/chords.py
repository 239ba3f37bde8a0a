"""The section of a turned solid by a plane beside its axis, stretch by stretch."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt

from geometry.outlines.profile import Piece
from shared.arrays import Array

SAGITTA = 2.5e-4
"""cm (just under 0.0001 in). The error of chords; a tenth of a lathe's tolerance."""

Curve = Callable[[Array], Array]
"""Maps points of an outline (k, 2) to the two points (2, k, 2) of the section at each."""

Span = tuple[int, float, float]
"""A stretch of a piece: its number, and the t of both ends."""


def chains(
    pieces: tuple[Piece, ...], room: Callable[[Array], Array], *, whole: bool
) -> tuple[list[list[Span]], bool]:
    """Return the runs of stretches with room, and whether they are a single closed run.

    `whole`: the pieces form a closed loop.
    """
    chains: list[list[Span]] = []
    goes_on = False
    for i, piece in enumerate(pieces):
        ends = np.array([0.0, *roots(piece, room), 1.0])
        free = room(piece.points((ends[:-1] + ends[1:]) / 2)) > 0
        for k in np.flatnonzero(free):
            if k or not goes_on:
                chains.append([])
            chains[-1].append((i, float(ends[k]), float(ends[k + 1])))
        goes_on = bool(free[-1])
    joined = goes_on and whole and bool(chains) and chains[0][0][:2] == (0, 0.0)
    if joined and len(chains) > 1:
        chains[0] = [*chains.pop(), *chains[0]]
        return chains, False
    return chains, joined


def roots(piece: Piece, value: Callable[[Array], Array]) -> Array:
    """Return the roots on a piece (t, sorted, between 0 and 1) of a quadratic in r and z."""
    if piece.edge.angle[0] == 0:
        a, b, c = value(piece.points(np.array([0.0, 0.5, 1.0])))
        zeros = np.roots(_trimmed(np.array([2 * (a + c) - 4 * b, 4 * b - 3 * a - c, a])))
        t = zeros[np.abs(zeros.imag) < 1e-9].real
    else:
        turn = 2 * np.pi / abs(float(piece.edge.angle[0]))
        waves = np.fft.fft(value(piece.points(turn * np.arange(8) / 8))) / 8
        zeros = np.roots(_trimmed(waves[[2, 1, 0, -1, -2]]))
        unit = zeros[np.abs(np.abs(zeros) - 1) < 1e-6]
        t = (np.angle(unit) % (2 * np.pi)) / (2 * np.pi) * turn
    return np.unique(t[(t > 1e-12) & (t < 1 - 1e-12)])


def _trimmed(polynomial: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """Return the coefficients, with those that are only rounding set to 0."""
    size = np.abs(polynomial)
    return np.asarray(np.where(size < 1e-14 * np.max(size), 0.0, polynomial))


def followed(piece: Piece, low: float, high: float, placed: Curve) -> Array:
    """Return both sides (2, k, 2) of a section along a stretch, with chords within SAGITTA.

    The parameter is an angle, in which the sides are smooth where they meet. Raises ArithmeticError
    if 2¹⁷ chords are not enough.
    """
    for count in 2 ** np.arange(3, 17):
        u = np.arange(2 * count + 1) * np.pi / (2 * count)
        points = placed(piece.points(low + (high - low) * (1 - np.cos(u)) / 2))
        start, end, middle = points[:, :-2:2], points[:, 2::2], points[:, 1::2]
        chord = end - start
        size = np.maximum(np.linalg.norm(chord, axis=2), 1e-12)
        gap = middle - start
        off = np.abs(chord[..., 0] * gap[..., 1] - chord[..., 1] * gap[..., 0]) / size
        if np.max(off) <= SAGITTA / 2:
            return points
    raise ArithmeticError("a section can't be followed by chords")
