"""Axes in words and figures, to a tenth of a degree: rounding the densities turns them by less.

For a line whose cores are the same about x and y, the only remark is that a low-RG axis is not the
pin axis.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np

from geometry.mass_properties import Principal
from optimizer.ball.weight_class import Ball
from optimizer.lineup.margins import rounding_reach
from optimizer.paper.axes import (
    TILTED,
    UPRIGHT,
    asymmetric,
    asymmetry,
    from_pin,
    from_x,
    is_level,
    psa_distances,
    rule,
)
from optimizer.paper.quantities import Unit
from shared.arrays import Array
from shared.reference import table
from shared.rounding import fixed
from shared.tolerances import ARITHMETIC, AXIS_GAP
from shared.units import INCH

Row = tuple[str, ...]


def axis_rows(balls: Sequence[Ball], length: Unit) -> Iterator[Row]:
    """Yield a table's rows on the axes, for cores that are not the same about x and y."""
    if all(ball.map.symmetric for ball in balls):
        return

    def row(label: str, cell: Callable[[Ball], str | None]) -> Row:
        return (f"  {label}", *(cell(ball) or "-" for ball in balls))

    if any((ball.radii.pin_tilt or 0.0) > TILTED for ball in balls):
        yield row("low-RG axis from pin, °", lambda ball: _degrees(ball.radii.pin_tilt))
        yield row(f"  on the surface, {length.name}", lambda ball: _arc(ball, length))
    yield row("PSA from pin, °", lambda ball: _from(ball, from_pin, 0.0))
    yield row("PSA around from x, °", lambda ball: _from(ball, from_x, UPRIGHT))
    yield row("asymmetry, % of differential", _share_cell)


def axis_place(radii: Principal, k: int) -> str:
    """Return where axis `k` (0 low, 2 high) points: "pin", its angles, or on the equator."""
    axis = radii.axis(k)
    if axis is None:
        return "none"
    tilt = from_pin(axis)
    if tilt < TILTED:
        return "pin"
    place = "equator" if is_level(axis) else f"{_degrees(tilt)}° from pin"
    return place if tilt < UPRIGHT else f"{place}, {_degrees(from_x(axis))}° from x"


def axis_lines(balls: Sequence[Ball], names: Mapping[str, str], length: Unit) -> tuple[str, ...]:
    """Return in which weights the low-RG axis is not the pin axis, and by how much at most."""
    lines, tilted = dict[str, list[Ball]](), list[Ball]()
    for ball in balls:
        if (tilt := ball.radii.pin_tilt) is None:
            lines.setdefault(no_low_axis(ball.radii), []).append(ball)
        elif tilt > TILTED:
            tilted.append(ball)
    if tilted:
        far = max(tilted, key=lambda ball: ball.radii.pin_tilt or 0.0)
        text = (
            f"the low-RG axis is not the pin axis but {'up to ' * (len(tilted) > 1)}"
            f"{_degrees(far.radii.pin_tilt)}° from it, "
            f"{_marked('pin marking', far.radii.pin_tilt or 0.0, far, length)}"
        )
        lines[text] = tilted
    return _by_weight(lines, balls, names)


def no_low_axis(radii: Principal) -> str:
    """Return words on why there is no low-RG axis, and whether the pin axis has the high RG."""
    high, alike = radii.axis(2), "three" if radii.differential <= AXIS_GAP else "two lower"
    pin = "; the pin axis has the high RG" if high is not None and from_pin(high) < TILTED else ""
    return f"there is no low-RG axis to speak of (the {alike} RGs are alike){pin}"


def psa_lines(balls: Sequence[Ball], names: Mapping[str, str], length: Unit) -> tuple[str, ...]:
    """Return which weights are asymmetric and how far apart their PSAs are, if any core is."""
    lines = dict[str, list[Ball]]()
    for ball in balls:
        if not ball.map.symmetric and (text := _kind(ball.radii)):
            lines.setdefault(text, []).append(ball)
    sentences = _by_weight(lines, balls, names)
    if away := psa_distances(ball for ball in balls if not ball.map.symmetric):
        marked = (ball for ball in balls if ball.map.label in away)
        far = max(marked, key=lambda ball: away[ball.map.label])
        turned = away[far.map.label] / far.map.radius
        if turned > TILTED:
            whose = f" from that of {names[far.map.label]} at the least"
            mark = _marked("psa marking", turned, far, length, whose)
            what = "The PSA is not in one place in every weight: one mark for all would be"
            return (*sentences, f"{what} {mark}.")
    return sentences


def _by_weight(
    lines: Mapping[str, Sequence[Ball]], balls: Sequence[Ball], names: Mapping[str, str]
) -> tuple[str, ...]:
    """Return a sentence for each text of `lines`, with the weights that it is about."""

    def who(about: Sequence[Ball]) -> str:
        every = len(about) == len(balls) > 1
        return "Every weight" if every else ", ".join(names[ball.map.label] for ball in about)

    return tuple(f"{who(about)}: {text}." for text, about in lines.items())


def _kind(radii: Principal) -> str | None:
    """Return whether a ball is asymmetric by the rulebook; None if all RGs are alike."""
    book, over = table("rulebook")["usbc"]["name"], rule("asymmetric")["over"]
    is_so = asymmetric(radii)
    if is_so is None:
        return None
    kind, more = ("asymmetric", "more") if is_so else ("symmetric", "not more")
    none = "; there is no PSA (high-RG axis) to speak of (the two higher RGs are alike)"
    return (
        f"{kind} by {book} (high - intermediate RG is {more} than {100 * over:g} % of the "
        f"differential){'' if radii.axis(2) is not None else none}"
    )


def _degrees(radians: float | None) -> str | None:
    return None if radians is None else fixed(float(np.degrees(radians)), 1)


def _arc(ball: Ball, length: Unit) -> str | None:
    tilt = ball.radii.pin_tilt
    return None if tilt is None else length.number(ball.map.radius * tilt)


def _from(ball: Ball, angle: Callable[[Array], float], least: float) -> str | None:
    """Return an angle of the PSA, in degrees, if that is at least `least` (rad) from the pin."""
    axis = ball.radii.axis(2)
    return None if axis is None or from_pin(axis) < least else _degrees(angle(axis))


def _share_cell(ball: Ball) -> str | None:
    share = asymmetry(ball.radii)
    return None if share is None else fixed(100.0 * share, 2 if share < 0.1 else 1)


def _marked(figure: str, turned: float, ball: Ball, length: Unit, whose: str = "") -> str:
    """Return how far along the surface an axis is from its mark (rad), and the rulebook's limit."""
    most, arc = float(rule(figure)["max"]) * INCH, ball.map.radius * turned
    reach = 0.0  # how far rounding the densities can move the low-RG axis along the surface
    if figure == "pin marking" and ball.radii.pin_tilt is not None:
        slope = ball.radii.pin_tilt_slope(ball.properties.mass)
        reach = ball.map.radius * rounding_reach(ball.pull(slope))
    beyond = arc > most + reach + ARITHMETIC
    side, unit = ("MORE THAN", length.parting(arc, most)) if beyond else ("within", length)
    limit = f"{side} {table('rulebook')['usbc']['name']}'s marking limit, {unit.told(most)}"
    return f"{unit.told(arc)} along the surface{whose} ({limit})"
