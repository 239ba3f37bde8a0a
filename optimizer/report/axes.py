"""Where a ball's axes point: the low-RG axis beside the pin, and the PSA (high-RG axis).

An axis is told only where its RG stands apart from the others, and in as many digits as the stated
densities give it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

import numpy as np

from geometry.mass_properties import Principal
from optimizer.foundry.rounding import fixed
from optimizer.linear.maps import Ball
from optimizer.report.quantities import Unit
from shared.arrays import Array
from shared.reference import table
from shared.tolerances import AXIS_GAP
from shared.units import INCH

TILTED: Final = np.radians(0.05)
"""A low-RG axis nearer to the pin than this is told as the pin axis."""
PLACES: Final = ((0.05, 1), (5.0, 0))
"""Degrees that stating the densities may turn an axis by, and the decimals that it is told with."""


def angle(radians: float, reach: float = 0.0) -> str:
    """Return an angle in degrees, as fine as `reach` (rad), by which it may be off, allows.

    >>> angle(0.34907), angle(0.34907, 0.002), angle(0.36, 0.2)
    ('20.0°', '20°', 'about 21°')
    """
    off = float(np.degrees(reach))
    places = next((places for most, places in PLACES if off <= most), None)
    told = f"{fixed(float(np.degrees(radians)), places or 0)}°"
    return f"about {told}" if places is None else told


def asymmetry(radii: Principal) -> float | None:
    """Return high − intermediate RG as a share of the differential; None where there is hardly one.

    RGs are quoted to 0.001 in: of a smaller differential no share means anything.
    """
    if radii.differential <= AXIS_GAP:
        return None
    return radii.intermediate_differential / radii.differential


def asymmetric(radii: Principal) -> bool | None:
    """Whether a ball is asymmetric by the rulebook; None where the rule means nothing."""
    share = asymmetry(radii)
    return None if share is None else share > _rule("asymmetric")["over"]


def axis_data(ball: Ball) -> dict[str, Any]:
    """Return where the axes of a ball are, degrees and inches; None for what means nothing."""
    radii, psa, share = ball.radii, ball.radii.axis(2), asymmetry(ball.radii)
    tilt = radii.pin_tilt
    psa_tilt = None if psa is None else _from_pin(psa)
    upright = psa_tilt is None or psa_tilt < TILTED
    return {
        "low_axis_from_pin_deg": _number(tilt, np.degrees(1.0)),
        "low_axis_from_pin_in": _number(tilt, ball.map.radius / INCH),
        "psa_from_pin_deg": _number(psa_tilt, np.degrees(1.0)),
        "psa_from_x_deg": None if psa is None or upright else _number(_from_x(psa), 1.0),
        "asymmetry_percent": _number(share, 100.0),
        "asymmetric": asymmetric(radii),
    }


def _number(value: float | None, factor: float) -> float | None:
    """Return a value in another unit, to a millionth of it; None for none."""
    return None if value is None else round(value * float(factor), 6) + 0.0


def axis_place(ball: Ball, radii: Principal, k: int) -> str:
    """Return where axis `k` (0 low, 2 high) points: "pin", its angle from it, or on the equator."""
    axis = radii.axis(k)
    if axis is None:
        return "none"
    tilt, reach = _from_pin(axis), ball.axis_reach(radii, k)
    if tilt < TILTED:
        return "pin"
    around = f"{angle(np.radians(_from_x(axis)), reach / np.sin(tilt))} from x"
    if tilt > np.pi / 2 - TILTED:
        return f"equator, {around}"
    return f"{angle(tilt, reach)} from pin, {around}"


def low_axis(ball: Ball, length: Unit) -> str | None:
    """Return where the low-RG axis is, or None when it is the pin axis as it should be."""
    radii = ball.radii
    tilt = radii.pin_tilt
    if tilt is None:
        high = radii.axis(2)
        if high is None and radii.differential <= AXIS_GAP:
            return "no axis stands apart (the three RGs are alike)"
        pin = ""
        if high is not None and _from_pin(high) < TILTED:
            pin = "; the pin axis has the high RG"
        return f"there is no low-RG axis to speak of (the two lower RGs are alike){pin}"
    if tilt <= TILTED:
        return None
    away = length.told(ball.map.radius * tilt)
    return (
        f"the low-RG axis is not the pin axis but {angle(tilt, ball.axis_reach(radii, 0))} from it,"
        f" {away} along the surface ({_marked('pin marking', length)} of the pin)"
    )


def axis_lines(balls: Sequence[Ball], names: Mapping[str, str], length: Unit) -> tuple[str, ...]:
    """Return one line for each way in which low-RG axes differ from the pin axis."""
    told = ((ball.map.label, low_axis(ball, length)) for ball in balls)
    return tuple(
        f"{who}: {text}." for text, who in _grouped(told, names, "Every weight", len(balls))
    )


def psa_lines(balls: Sequence[Ball], names: Mapping[str, str], length: Unit) -> tuple[str, ...]:
    """Return whether the weights are asymmetric, and where the PSA is; nothing of symmetric cores.

    How far each weight's PSA is from the place in their middle says whether one mark will do.
    """
    able = [ball for ball in balls if not ball.map.symmetric]
    told = ((ball.map.label, _psa(ball)) for ball in able)
    lines = [f"{who}: {text}." for text, who in _grouped(told, names, "Every weight", len(balls))]
    away = psa_distances(able)
    if len(away) > 1 and max(away.values()) > TILTED * able[0].map.radius:
        far = max(away, key=lambda label: away[label])
        lines.append(
            f"The PSA is not in the same place in every weight: {names[far]} is farthest from "
            f"their middle, {length.told(away[far])} along the surface "
            f"({_marked('psa marking', length)} of its mark)."
        )
    return tuple(lines)


def psa_distances(balls: Iterable[Ball]) -> dict[str, float]:
    """Return how far the PSA of each asymmetric ball is from their mean axis, cm on the surface.

    The mean is the line that is nearest to all: an axis has two ends.
    """
    axes = {
        ball: axis
        for ball in balls
        if asymmetric(ball.radii) and (axis := ball.radii.axis(2)) is not None
    }
    if not axes:
        return {}
    lines = np.array(list(axes.values()))
    mean = np.linalg.eigh(lines.T @ lines)[1][:, 2]
    return {
        ball.map.label: ball.map.radius * float(_between(axis, mean)) for ball, axis in axes.items()
    }


def _psa(ball: Ball) -> str | None:
    """Return whether a ball is asymmetric and where its PSA is, or None where all RGs are alike."""
    radii, share = ball.radii, asymmetry(ball.radii)
    if share is None:
        return None
    over = _rule("asymmetric")["over"]
    kind = "asymmetric" if share > over else "symmetric"
    percent = f"{fixed(100.0 * share, 0 if share > 0.1 else 1)} %"
    rule = f"high - intermediate RG is {percent} of the differential, {_side(share, over)}"
    if radii.axis(2) is None:
        return f"{kind} ({rule}); no PSA to speak of (the two higher RGs are alike)"
    return f"{kind} ({rule}); the PSA (high-RG axis) is at: {axis_place(ball, radii, 2)}"


def _side(share: float, over: float) -> str:
    book = table("rulebook")["usbc"]["name"]
    return f"{'over' if share > over else 'not over'} {book}'s {100 * over:g} %"


def _grouped(
    told: Iterable[tuple[str, str | None]], names: Mapping[str, str], every: str, count: int
) -> list[tuple[str, str]]:
    """Return each text with the weights it is told of, `every` where that is all of several."""
    lines: dict[str, list[str]] = {}
    for label, text in told:
        if text is not None:
            lines.setdefault(text, []).append(names[label])
    return [
        (text, every if len(who) == count > 1 else ", ".join(who)) for text, who in lines.items()
    ]


def _rule(figure: str) -> dict[str, Any]:
    book = table("rulebook")["usbc"]
    found: dict[str, Any] = next(
        one for one in (*book["rules"], *book["told"]) if one["figure"] == figure
    )
    return found


def _marked(figure: str, length: Unit) -> str:
    book, rule = table("rulebook")["usbc"]["name"], _rule(figure)
    return f"{book}: within {length.told(rule['max'] * INCH)}"


def _from_pin(axis: Array) -> float:
    """Return the angle between an axis and the pin axis, rad."""
    return float(np.arctan2(np.hypot(axis[0], axis[1]), abs(axis[2])))


def _from_x(axis: Array) -> float:
    """Return an axis' azimuth from +x, degrees: of its end toward the pin, of a level one below 180."""
    up = axis if axis[2] >= 0.0 else -axis
    around = round(float(np.degrees(np.arctan2(up[1], up[0]))), 6)
    level = _from_pin(axis) > np.pi / 2 - TILTED
    return around % (180.0 if level else 360.0)


def _between(one: Array, other: Array) -> float:
    """Return the angle between two axes, rad."""
    return float(np.arctan2(np.linalg.norm(np.cross(one, other)), abs(float(one @ other))))
