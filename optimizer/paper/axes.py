"""Where a ball's axes point: the low-RG axis relative to the pin, and the PSA (high-RG axis).

An axis is reported only if its RG differs from the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, product
from typing import Any, Final

import numpy as np

from geometry.mass_properties import Principal
from optimizer.ball.weight_class import Ball
from shared.arrays import Array
from shared.reference import table
from shared.tolerances import AXIS_GAP
from shared.units import INCH

TILTED: Final = np.radians(0.05)
"""A low-RG axis closer to the pin than this is reported as the pin axis."""
UPRIGHT: Final = np.radians(1.0)
"""An axis closer to the pin than this has no azimuth: it would be too uncertain."""


def axis_data(ball: Ball) -> dict[str, Any]:
    """Return where the axes of a ball are, degrees and inches; None for undefined figures."""
    radii, psa, share = ball.radii, ball.radii.axis(2), asymmetry(ball.radii)
    tilt, psa_tilt = radii.pin_tilt, None if psa is None else from_pin(psa)
    around = None if psa is None or psa_tilt < UPRIGHT else from_x(psa)
    return {
        "low_axis_from_pin_deg": _number(tilt, np.degrees(1.0)),
        "low_axis_from_pin_in": _number(tilt, ball.map.radius / INCH),
        "psa_from_pin_deg": _number(psa_tilt, np.degrees(1.0)),
        "psa_from_x_deg": _number(around, np.degrees(1.0)),
        "asymmetry_percent": _number(share, 100.0),
        "asymmetric": asymmetric(radii),
    }


def psa_data(balls: Sequence[Ball]) -> dict[str, float | None]:
    """Return how far each weight's PSA is from a common mark, inches; None without a PSA.

    The mark minimises the largest distance; it is not the mean, though the JSON's
    `psa_from_mean_in` keeps its name for existing readers.
    """
    away = psa_distances(balls)
    return {b.map.label: _number(away.get(b.map.label), 1.0 / INCH) for b in balls}


def asymmetry(radii: Principal) -> float | None:
    """Return (high − intermediate) ÷ differential; None for a differential too small to quote."""
    if radii.differential <= AXIS_GAP:
        return None
    return radii.intermediate_differential / radii.differential


def asymmetric(radii: Principal) -> bool | None:
    """Whether a ball is asymmetric by the rulebook; None if the rule does not apply."""
    share = asymmetry(radii)
    return None if share is None else share > float(rule("asymmetric")["over"])


def psa_distances(balls: Iterable[Ball]) -> dict[str, float]:
    """Return how far each asymmetric ball's PSA is from a common mark, cm on the surface."""
    marked = [ball for ball in balls if asymmetric(ball.radii) and ball.radii.axis(2) is not None]
    if not marked:
        return {}
    angles = nearest(np.array([ball.radii.axes[:, 2] for ball in marked]))
    return {
        ball.map.label: ball.map.radius * float(angle)
        for ball, angle in zip(marked, angles, strict=True)
    }


def nearest(axes: Array) -> Array:
    """Return the angles (n,), rad, of `axes` (n, 3) to the mark with the least maximum angle."""
    return np.asarray(min((_between(axes, mark) for mark in _marks(axes)), key=np.max))


def _marks(axes: Array) -> Iterator[Array]:
    """Yield candidates: one, two or three of `axes` (n, 3) fix the smallest circle around all."""
    marks = [axes[0]]
    for (a, b), sign in product(combinations(axes, 2), (1.0, -1.0)):
        marks.append(a + sign * b)
    for (a, b, c), signs in product(combinations(axes, 3), product((1.0, -1.0), repeat=2)):
        marks.append(np.cross(signs[0] * b - a, signs[1] * c - a))
    yield from (mark for mark in marks if np.linalg.norm(mark) > 1e-9)


def from_pin(axis: Array) -> float:
    """Return the angle between an axis and the pin axis, rad."""
    return float(np.arctan2(np.hypot(axis[0], axis[1]), abs(axis[2])))


def from_x(axis: Array) -> float:
    """Return an axis's azimuth from +x, rad: of its end toward the pin; below π for a level one."""
    up = axis if axis[2] >= 0.0 else -axis
    around, turn = float(np.arctan2(up[1], up[0])), np.pi if is_level(axis) else 2.0 * np.pi
    around %= turn
    return 0.0 if turn - around < 1e-8 else around


def is_level(axis: Array) -> bool:
    """Whether an axis is on the equator."""
    return from_pin(axis) > np.pi / 2 - float(TILTED)


def rule(figure: str) -> dict[str, Any]:
    """Return the rulebook's row on a figure."""
    book = table("rulebook")["usbc"]
    rows: dict[str, dict[str, Any]] = {row["figure"]: row for row in book["rules"] + book["told"]}
    return rows[figure]


def _number(value: float | None, factor: float) -> float | None:
    """Return a value times a factor, to eight decimals; None for None."""
    return None if value is None else round(value * float(factor), 8) + 0.0


def _between(axes: Array, mark: Array) -> Array:
    """Return the angle between each of `axes` (n, 3) and `mark`, of any length, rad."""
    across = np.linalg.norm(np.cross(axes, mark), axis=1)
    return np.asarray(np.arctan2(across, np.abs(axes @ mark)))
