"""Candidates across the weights: a small panel for each figure, with what is aimed at as a band."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import inf, isfinite
from typing import Final

import numpy as np

from optimizer.ball.figures import TOP_WEIGHT
from optimizer.lineup.result import WeightResult
from optimizer.paper.document import Pictures
from optimizer.paper.pictures.picture import BOLD, FAINT, GREY, Picture, cut, side_by_side, text
from optimizer.paper.pictures.placing import spread
from optimizer.paper.pictures.sheet import Sheet
from optimizer.paper.pictures.signs import dashes, sign
from optimizer.paper.pictures.ticks import Frame, Span, ticks, wider
from optimizer.paper.quantities import Unit, Units
from optimizer.questions.compare.compare import Candidate, Comparison

WIDTH, HEIGHT, LEFT, RIGHT, TOP, TALL = 420.0, 290.0, 62.0, 276.0, 40.0, 186.0
"""px: of a panel; from its left edge to the plot's sides; down to the plot; the plot's height."""
LETTER: Final = 6.6
"""px: how wide a letter of 11 px is taken to be."""
BAND: Final = "fill='currentColor' fill-opacity='.1'"
EDGE: Final = "stroke='currentColor' stroke-opacity='.45'"
LINE: Final = "fill='none' stroke='currentColor' stroke-width='1.8' stroke-linejoin='round'"
OPEN: Final = (-inf, inf)
"""A band without ends."""


@dataclass(frozen=True)
class Figure:
    """One figure of each ball, with the band that it is meant to be in."""

    name: str
    title: str
    unit: Unit
    value: Callable[[WeightResult], float]
    band: Callable[[Candidate, WeightResult], Span]
    signed: bool = False


def slopes(comparison: Comparison, names: dict[str, str]) -> Pictures:
    """Return the panels; `names` are those of the weights by their labels, such as "16 lb"."""
    units = Units.of(comparison.first.result.scenario)
    panels = tuple(_panel(comparison, figure, names) for figure in _figures(units))
    title = "Low RG, differential, weight and top weight of each candidate"
    about = " ".join(f"{picture.title}. {picture.about}" for picture in panels)
    whole = side_by_side("slopes", title, about, panels, across=2)
    return Pictures(
        whole,
        "Each line is a candidate, from its heaviest weight to its lightest. The band is what the "
        "candidate aims at, ± its tolerance; of top weight it is what the limits allow.",
        panels,
    )


def _figures(units: Units) -> Iterator[Figure]:
    yield Figure(
        "rg", "Low RG", units.rg, lambda weight_result: weight_result.ball.radii.low, _aim(0)
    )
    yield Figure(
        "differential",
        "Differential",
        units.rg,
        lambda weight_result: weight_result.ball.radii.differential,
        _aim(1),
    )
    yield Figure("weight", "Weight, off target", units.mass, _off, _spread, signed=True)
    yield Figure(
        "top-weight",
        "Top weight",
        units.imbalance,
        lambda weight_result: weight_result.ball.top_weight,
        _allowed,
    )


def _aim(figure: int) -> Callable[[Candidate, WeightResult], Span]:
    """Return what gives a target's figure ± its tolerance."""

    def band(candidate: Candidate, _: WeightResult) -> Span:
        target, aim = candidate.result.scenario.target, candidate.result.figures[figure]
        if target is None:
            return OPEN
        room = (target.rg_tolerance, target.differential_tolerance)[figure]
        return aim - room, aim + room

    return band


def _off(weight: WeightResult) -> float:
    return weight.ball.properties.mass - weight.ball.map.mass


def _spread(_: Candidate, weight: WeightResult) -> Span:
    room = weight.ball.map.mass_tolerance
    return OPEN if room is None else (-room, room)


def _allowed(_: Candidate, weight: WeightResult) -> Span:
    """Return the least and the greatest top weight that the limits allow."""
    limits = [bound for bound in weight.ball.map.bounds if bound.figure == TOP_WEIGHT]
    return max((b.low for b in limits), default=-inf), min((b.high for b in limits), default=inf)


def _panel(comparison: Comparison, figure: Figure, names: dict[str, str]) -> Picture:
    rows = [
        [
            None if (weight_result := each.weight(label)) is None else figure.value(weight_result)
            for label in names
        ]
        for each in comparison.candidates
    ]
    bands = _bands(comparison, figure)
    shown = [value for row in rows for value in row if value is not None]
    shown += [end for band in bands for span in band for end in span if isfinite(end)]
    span = wider((min(shown), max(shown)), 4 * 10.0**-figure.unit.digits * figure.unit.factor)
    sheet = Sheet(
        Frame((-0.5, len(names) - 0.5), span, (), ticks(span, figure.unit.factor)),
        LEFT,
        RIGHT,
        TOP,
        TALL,
    )
    title = f"{figure.title}, {figure.unit.name}"
    body = (
        text(LEFT, 22, title, f"font-size='13' {BOLD}"),
        *(line for band in bands for line in _band(sheet, band)),
        *_axes(sheet, figure, list(names)),
        *_lines(sheet, comparison.candidates, rows),
    )
    about = _about(comparison.candidates, rows, figure, names)
    return Picture(f"slopes-{figure.name}", title, about, WIDTH, HEIGHT, tuple(body))


def _bands(comparison: Comparison, figure: Figure) -> list[tuple[Span, ...]]:
    """Return what each candidate's weights are meant to be in, each band once."""
    bands = []
    for each in comparison.candidates:
        weights = [each.weight(label) for label in comparison.labels]
        bands.append(tuple(OPEN if w is None else figure.band(each, w) for w in weights))
    step = 10.0 ** -(figure.unit.digits + 2) * figure.unit.factor
    known = {
        tuple(round(end / step) if isfinite(end) else end for span in band for end in span): band
        for band in reversed(bands)
    }
    return list(reversed(known.values()))


def _band(sheet: Sheet, band: Sequence[Span]) -> Iterator[str]:
    """Yield a band, a step for each weight; an end that is not given is the plot's."""
    low, high = sheet.frame.up
    for k, (a, b) in enumerate(band):
        if (a, b) == OPEN:
            continue
        corners = np.array([[k - 0.5, min(b, high)], [k + 0.5, max(a, low)]])
        (x, y), (right, bottom) = sheet.at(corners).tolist()
        size = f"width='{right - x:.1f}' height='{bottom - y:.1f}'"
        yield f"<rect class='band' x='{x:.1f}' y='{y:.1f}' {size} {BAND}/>"
        for end, at in ((b, y), (a, bottom)):
            if isfinite(end):
                yield f"<path d='M {x:.1f},{at:.1f} H {right:.1f}' {EDGE}/>"


def _axes(sheet: Sheet, figure: Figure, labels: Sequence[str]) -> Iterator[str]:
    bottom = TOP + TALL
    told = _told_ticks(sheet.frame.beside, figure)
    for tick, words in zip(sheet.frame.beside, told, strict=True):
        ((_, y),) = sheet.at(np.array([[0.0, tick]])).tolist()
        yield f"<path d='M {LEFT},{y:.1f} H {RIGHT}' {FAINT}/>"
        yield text(LEFT - 7, y + 4, words, "text-anchor='end' font-size='11'")
    size = f"width='{RIGHT - LEFT}' height='{TALL}'"
    yield f"<rect x='{LEFT}' y='{TOP}' {size} fill='none' stroke='currentColor'/>"
    slot = (RIGHT - LEFT) / len(labels)
    rows = 1 if max(map(len, labels)) * LETTER <= slot - 4 else 2
    fits = int((rows * slot - 4) / LETTER)
    for k, label in enumerate(labels):
        words = cut(label, fits, labels)
        y = bottom + 17 + 14 * (k % rows)
        yield text(LEFT + (k + 0.5) * slot, y, words, "text-anchor='middle' font-size='11'")
    below = f"{GREY} text-anchor='middle' font-size='11'"
    yield text((LEFT + RIGHT) / 2, bottom + 24 + 14 * rows, "weight class, heavy to light", below)


def _told_ticks(some: Sequence[float], figure: Figure) -> list[str]:
    """Return figures along an axis, with as many digits as they need."""
    unit = figure.unit
    more = next(
        (
            n
            for n in range(4)
            if all(
                abs(float(unit.number(tick, n)) * unit.factor - tick) < 1e-6 * unit.factor
                for tick in some
            )
        ),
        4,
    )
    tell = unit.signed if figure.signed else unit.number
    return [tell(tick, more) for tick in some]


def _lines(
    sheet: Sheet, candidates: Sequence[Candidate], rows: Sequence[Sequence[float | None]]
) -> Iterator[str]:
    """Yield each candidate's line with its signs, which stand side by side, and its name."""
    slot = (RIGHT - LEFT) / len(rows[0])
    step = min(10.0, 0.8 * slot / len(rows))
    size = max(0.6, step / 10.0)
    ends = []
    for c, row in enumerate(rows):
        aside = (c - (len(rows) - 1) / 2) * step
        known = [(k, value) for k, value in enumerate(row) if value is not None]
        places = sheet.at(np.array(known)).tolist()
        points = [(x + aside, y) for x, y in places]
        path = " L ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        yield f"<path class='slope' d='M {path}' {LINE} {dashes(c)}/>"
        yield from (sign(c, x, y, size=size) for x, y in points)
        ends.append(points[-1])
    order = sorted(range(len(ends)), key=lambda c: ends[c][1])
    beside = spread([ends[c][1] for c in order], 16.0, TOP + 6, TOP + TALL - 6)
    for c, at in zip(order, beside, strict=True):
        candidate, (x, y) = candidates[c], ends[c]
        yield f"<path d='M {x + 7:.1f},{y:.1f} L {RIGHT + 8},{at:.1f}' {EDGE} fill='none'/>"
        yield sign(c, RIGHT + 15, at)
        yield text(RIGHT + 25, at + 4, candidate.name, "class='name' font-size='12'")


def _about(
    candidates: Sequence[Candidate],
    rows: Sequence[Sequence[float | None]],
    figure: Figure,
    names: dict[str, str],
) -> str:
    tell = figure.unit.signed if figure.signed else figure.unit.number
    lines = (
        f"{candidate.name}: "
        + ", ".join(
            f"{name} {'none' if value is None else tell(value)}"
            for name, value in zip(names.values(), row, strict=True)
        )
        for candidate, row in zip(candidates, rows, strict=True)
    )
    return "; ".join(lines) + "."
