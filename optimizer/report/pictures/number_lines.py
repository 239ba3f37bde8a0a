"""Why a line-up can't be, as number lines: where a limit is, where it would have to be, the gap."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from optimizer.lineup.result import LineupResult
from optimizer.report.document import Pictures
from optimizer.report.pictures.picture import BOLD, GREY, Picture, side_by_side, text
from optimizer.report.quantities import Units
from optimizer.report.solution.diagnosis import NAMES
from optimizer.report.solution.page import class_names
from optimizer.report.words import subject
from optimizer.studies.changes import Change
from optimizer.studies.diagnosis import Diagnosis
from shared.units import POUND

WIDE: Final = 410.0
MIDDLE, REACH = 205.0, 150.0
"""px: of a picture; to what is asked, on every line; the longest gap to either side."""
HEAD, TALL = 42.0, 70.0
"""px: of the group's name; of a row."""
MOST: Final = 8
"""Rows of a group that are drawn."""
LETTERS: Final = 58
"""Letters of a row's name, before it is cut."""
MET: Final = 0.1
"""Tolerances: a miss that is smaller isn't drawn."""


@dataclass(frozen=True)
class Gap:
    """Two places on a number line, each with its word and its number, and what lies between."""

    name: str
    places: tuple[float, float]
    words: tuple[str, str]
    numbers: tuple[str, str]
    short: str
    tolerances: float | None
    with_next: bool = False


@dataclass(frozen=True)
class Group:
    """Gaps under one heading."""

    name: str
    heading: str
    gaps: tuple[Gap, ...]


def number_lines(result: LineupResult, found: Diagnosis | None) -> Pictures | None:
    """Return why a line-up can't be as number lines; None where there is nothing to draw."""
    groups = [group for group in _groups(result, found) if group.gaps]
    if not groups:
        return None
    each = tuple(_picture(group) for group in groups)
    whole = side_by_side(
        "short-by",
        f"{result.scenario.name}, revision {result.scenario.revision}: what is short, by how much",
        " ".join(f"{one.title}: {one.about}" for one in each),
        each,
        across=3,
    )
    return Pictures(
        whole,
        "The bar is the gap between what is asked (the tick) and what would have to be, or what "
        "the nearest ball has (the diamond). Its length is in tolerances, on one scale under each "
        "heading.",
        each,
    )


def _groups(result: LineupResult, found: Diagnosis | None) -> Iterator[Group]:
    yield Group("broken", "Broken, whatever the densities", tuple(_broken(result)))
    yield Group("misses", "What the nearest balls miss", tuple(_misses(result)))
    if found is not None and found.remedies:
        some = found.remedies[:MOST]
        alone = len(some[0].changes) == 1
        heading = "Any one of these would do" if alone else "These two together would do"
        gaps = [
            _changed(one, result, with_next=k + 1 < len(remedy.changes))
            for remedy in some
            for k, one in enumerate(remedy.changes)
        ]
        yield Group("changes", heading, tuple(gap for gap in gaps if gap is not None))


def _broken(result: LineupResult) -> Iterator[Gap]:
    units, told = Units.of(result.scenario), dict[str, Gap]()
    for margin in () if result.infeasible is None else result.infeasible.broken:
        unit = units.by(margin.quantity)
        word = "at least" if margin.limit.endswith("min") else "at most"
        gap = Gap(
            subject(margin),
            (margin.bound, margin.value),
            (word, "drawn"),
            (unit.number(margin.bound), unit.number(margin.value)),
            f"{'short' if word == 'at least' else 'over'} by {unit.told(abs(margin.slack))}",
            margin.tolerances,
        )
        told.setdefault(f"{gap.name} {gap.short}", gap)
    yield from list(told.values())[:MOST]


def _misses(result: LineupResult) -> Iterator[Gap]:
    """Yield how far the nearest balls are off their targets, the farthest first."""
    units, names = Units.of(result.scenario), class_names(result)
    off = [
        (abs(one.tolerances or 0.0), k, weight.label, one)
        for k, weight in enumerate(result.weights)
        for one in weight.deviations
        if one.tolerances is not None and abs(one.tolerances) > MET
    ]
    told: dict[str, tuple[list[str], Gap]] = {}
    for size, _, label, one in sorted(off, key=lambda item: (-item[0], item[1])):
        unit = units.mass if one.figure == "weight" else units.rg
        name = "low RG" if one.figure == "rg" else one.figure
        grams = f" ({abs(one.off):.0f} g)" if one.figure == "weight" else ""
        gap = Gap(
            name,
            (one.asked, one.measured),
            ("asked", "nearest"),
            (unit.number(one.asked, 1), unit.number(one.measured, 1)),
            f"{'short' if one.off < 0 else 'over'} by {unit.told(abs(one.off), 1)}{grams}: "
            f"{size:.1f} tolerances",
            size,
        )
        told.setdefault(f"{name} {gap.numbers} {gap.short}", ([], gap))[0].append(names[label])
    for who, gap in list(told.values())[:MOST]:
        every = len(who) == len(names) > 1
        yield replace(gap, name=f"{'every weight' if every else ', '.join(who)}: {gap.name}")


def _changed(one: Change, result: LineupResult, *, with_next: bool) -> Gap | None:
    """Return a change of one number; None for one of which weights share a density."""
    if not isinstance(one.value, int | float) or not isinstance(one.to, int | float):
        return None
    about = class_names(result).get(one.about or "", one.about or "")
    short = f"{abs(one.to - one.value):.6g} {one.unit}".rstrip()
    if one.unit in ("lb", "kg"):
        factor = POUND if one.unit == "lb" else 1000.0
        short += f" ({abs(one.to - one.value) * factor:.0f} g)"
    size = "" if one.tolerances is None else f": {one.tolerances:.1f} tolerances"
    return Gap(
        f"{NAMES.get(one.name, one.name)} {about}".rstrip(),
        (float(one.value), float(one.to)),
        ("now", "would do"),
        (f"{one.value:g}", f"{one.to:g}"),
        f"short by {short}{size}",
        one.tolerances,
        with_next,
    )


def _picture(group: Group) -> Picture:
    rows = group.gaps
    body = [text(8, 22, group.heading, f"font-size='15' {BOLD}")]
    longest = max(abs(gap.tolerances or 0.0) for gap in rows)
    for k, gap in enumerate(rows):
        known = gap.tolerances is not None and longest > 0.0
        body += _row(gap, HEAD + k * TALL, abs(gap.tolerances or 0.0) / longest if known else 0.5)
    told = "; ".join(
        f"{gap.name}: {gap.words[0]} {gap.numbers[0]}, {gap.words[1]} {gap.numbers[1]}, {gap.short}"
        + (", together with" if gap.with_next else "")
        for gap in rows
    )
    height = HEAD + TALL * len(rows) + 6
    return Picture(f"short-by-{group.name}", group.heading, f"{told}.", WIDE, height, tuple(body))


def _row(gap: Gap, y: float, share: float) -> Iterator[str]:
    """Yield a line, its gap so large a share of the longest."""
    name = gap.name if len(gap.name) <= LETTERS else gap.name[: LETTERS - 1] + "…"
    yield text(8, y + 10, name, "font-size='12'")
    yield text(8, y + 25, gap.short, f"font-size='12' {BOLD}")
    level, (asked, other) = y + 38, gap.places
    way = 1 if other > asked else -1
    x = MIDDLE + way * share * REACH
    a, b = sorted((MIDDLE, x))
    line = f"M {MIDDLE - REACH - 20},{level} H {MIDDLE + REACH + 20}"
    yield f"<path d='{line}' stroke='currentColor' stroke-opacity='.4'/>"
    bar = f"x='{a:.1f}' y='{level - 5:.1f}' width='{b - a:.1f}' height='10'"
    yield f"<rect class='gap' {bar} {SHADE}/>"
    yield f"<path class='asked' d='M {MIDDLE},{level - 8:.1f} v 16' {TICK}/>"
    yield f"<path class='to' d='M {x:.1f},{level - 6:.1f} l 6,6 l -6,6 l -6,-6 Z' {OPEN}/>"
    first, second = ("end", "start") if way > 0 else ("start", "end")
    small = "font-size='12' text-anchor="
    below = level + 20
    yield text(MIDDLE + 5 * way, below, f"{gap.words[0]} {gap.numbers[0]}", f"{small}'{first}'")
    at = min(max(x - 5 * way, MIDDLE - 90), MIDDLE + 90) if share > 0.2 else MIDDLE + 12 * way
    yield text(at, below, f"{gap.words[1]} {gap.numbers[1]}", f"{small}'{second}'")
    if gap.with_next:
        yield text(WIDE - 8, y + 10, "together with", f"font-size='12' text-anchor='end' {GREY}")


SHADE: Final = "fill-opacity='.2'"
TICK: Final = "stroke='currentColor' stroke-width='2.5'"
OPEN: Final = "fill='white' stroke='currentColor' stroke-width='1.6'"
