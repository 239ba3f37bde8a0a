"""Figures told in words: a weight class, a margin, an axis."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import numpy as np

from geometry.mass_properties import Principal
from optimizer.foundry.rounding import fixed
from optimizer.linear.maps import LinearMap
from optimizer.linear.rows import Margin
from optimizer.lineup.result import Status
from optimizer.report.quantities import Units

POINT = {"cg": "the centre of gravity", "centre": "the ball's geometric centre"}
NOT_HERE: Final = "not in it"
"""What a table says of a part, or of a dimension, in a weight that is without it."""
TILTED = np.radians(0.05)
"""A low-RG axis nearer to the pin than this is told as the pin axis."""


def class_name(map_: LinearMap, units: Units) -> str:
    """Return the label with the unit of weight, where the label is that figure: "16 lb"."""
    try:
        near = abs(float(map_.label) * units.mass.factor / map_.mass - 1.0) < 0.1
    except ValueError:
        near = False
    return f"{map_.label} {units.mass.name}" if near else map_.label


def plural(count: int, one: str, many: str | None = None) -> str:
    """Return the count with its noun.

    >>> plural(1, "weight"), plural(3, "density", "densities")
    ('1 weight', '3 densities')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def sentence_case(text: str) -> str:
    """Return the text with its first letter large, the rest as it is."""
    return text[:1].upper() + text[1:]


def listed(words: Sequence[str]) -> str:
    """Return words as a list in a sentence.

    >>> listed(["cover"]), listed(["cover", "keel", "girdle"])
    ('cover', 'cover, keel and girdle')
    """
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1]))) if words else "none"


def subject(margin: Margin) -> str:
    """Return what a margin is about: "keel", "wall between girdle and spindle", "top weight"."""
    figure = margin.limit.removesuffix(" min").removesuffix(" max")
    if isinstance(margin.part, tuple):
        return f"{figure} between {listed(margin.part)}"
    if margin.part is None:
        return figure
    return margin.part if figure == "density" else f"{margin.part}, {figure}"


def sentence(margin: Margin, units: Units) -> str:
    """Return a margin in words, without its weight class: in its own unit and in tolerances.

    What its note says, such as what stops a recipe, stands beside its bound.
    """
    unit = units.by(margin.quantity)
    bound = unit.number(margin.bound) + (f": {margin.note}" if margin.note else "")
    told = f"{subject(margin)} {unit.told(margin.value)}, {standing(margin, units)} ({bound})"
    return f"{told}: {room(margin)}"


def standing(margin: Margin, units: Units) -> str:
    """Return how a figure stands to its limit: "at its least", "0.0120 under its most"."""
    word, inside, outside = (
        ("least", "over", "under") if margin.limit.endswith(" min") else ("most", "under", "over")
    )
    amount = units.by(margin.quantity).number(abs(margin.slack))
    if float(amount) == 0.0:
        return f"at its {word}"
    return f"{amount} {inside if margin.slack > 0 else outside} its {word}"


def room(margin: Margin) -> str:
    """Return a margin in tolerances, in words."""
    if margin.tolerances is None:
        return "no tolerance declared" if margin.slack >= 0.0 else "outside its limit"
    count = fixed(abs(margin.tolerances), 1)
    if margin.tolerances < 0.0:
        return f"outside by {count} tolerances"
    return f"{count} tolerances"


def margin_lines(
    margins: Iterable[Margin],
    names: Mapping[str, str],
    units: Units,
    most: int | None = None,
    *,
    tail: bool = False,
) -> tuple[str, ...]:
    """Return margins in words, in their order; what several classes share is told once.

    `names` gives each weight label's name, all the labels of the line. At `most` so many lines are
    told, with a `tail` that says how many are left.
    """
    lines: dict[str, list[str]] = {}
    for margin in margins:
        lines.setdefault(sentence(margin, units), []).append(names[margin.weight])
    told = (
        f"{'every weight' if len(who) == len(names) > 1 else ', '.join(who)}: {text}"
        for text, who in lines.items()
    )
    every = tuple(told)
    more = len(every) - len(every[:most])
    return (*every[:most], f"and {more} more") if more and tail else every[:most]


def nearest_line(status: Status) -> str:
    """Return what is to be said before balls that are no solution, a space after it; else ""."""
    if status == "feasible":
        return ""
    known = "There is no solution" if status == "infeasible" else "No solution was found"
    return f"{known}: these balls are the nearest line-up, not a solution. "


def low_axis(radii: Principal) -> str | None:
    """Return where the low-RG axis is, or None when it is the pin axis as it should be."""
    tilt = radii.pin_tilt
    if tilt is None:
        high = radii.axis(2)
        pin = ""
        if high is not None and abs(float(high[2])) > np.cos(TILTED):
            pin = "; the pin axis has the high RG"
        return f"there is no low-RG axis to speak of (the two lower RGs are alike){pin}"
    if tilt > TILTED:
        return f"the low-RG axis is not the pin axis but {fixed(np.degrees(tilt), 1)}° from it"
    return None


def axis_lines(balls: Iterable[tuple[str, Principal]], names: Mapping[str, str]) -> tuple[str, ...]:
    """Return one line for each way in which low-RG axes differ from the pin axis."""
    lines: dict[str, list[str]] = {}
    for label, radii in balls:
        text = low_axis(radii)
        if text is not None:
            lines.setdefault(text, []).append(names[label])
    return tuple(
        f"{'Every weight' if len(who) == len(names) > 1 else ', '.join(who)}: {text}."
        for text, who in lines.items()
    )


def axis_place(radii: Principal, k: int) -> str:
    """Return where axis `k` (0 low, 2 high) points: "pin", its angle from it, or on the equator."""
    axis = radii.axis(k)
    if axis is None:
        return "none"
    tilt = np.degrees(np.arctan2(np.hypot(axis[0], axis[1]), abs(axis[2])))
    if tilt < np.degrees(TILTED):
        return "pin"
    if tilt < 90.0 - np.degrees(TILTED):
        return f"{fixed(tilt, 1)}° from pin"
    from_x = round(float(np.degrees(np.arctan2(axis[1], axis[0]))), 1) % 180.0
    return f"equator, {fixed(from_x, 1)}° from x"


def psa_lines(balls: Iterable[tuple[str, Principal]], names: Mapping[str, str]) -> tuple[str, ...]:
    """Return where the PSA is, if it isn't in the same place in every weight that has one."""
    places: dict[str, list[str]] = {}
    for label, radii in balls:
        place = axis_place(radii, 2)
        if place != "none":
            places.setdefault(place, []).append(names[label])
    if len(places) < 2:
        return ()
    told = "; ".join(f"{', '.join(who)}: {place}" for place, who in places.items())
    return (f"The PSA (high-RG axis) is not the same in every weight. {told}.",)
