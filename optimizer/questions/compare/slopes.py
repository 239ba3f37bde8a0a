"""Candidates across the weights: a small plot for each figure, its target or limits as a band."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf, isfinite
from typing import Final

import numpy as np

from optimizer.ball.figures import DIFFERENTIAL, LOW_RG, TOP_WEIGHT, WEIGHT, Figure
from optimizer.lineup.result import WeightResult
from optimizer.paper.document import Pictures, panels
from optimizer.paper.pictures.picture import BOLD, Picture, text
from optimizer.paper.pictures.sheet import Sheet
from optimizer.paper.pictures.signs import dashes, sign
from optimizer.paper.pictures.small_plot import beside, classes, small_axes
from optimizer.paper.pictures.ticks import Frame, Span, ticks, wider
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import sentence_case
from optimizer.questions.compare.compare import Candidate, Comparison

WIDTH, HEIGHT, LEFT, RIGHT, TOP, TALL = 420.0, 290.0, 62.0, 276.0, 40.0, 186.0
"""px: of a panel; from its left edge to the plot's sides; down to the plot; the plot's height."""
BAND: Final = "fill='currentColor' fill-opacity='.1'"
EDGE: Final = "stroke='currentColor' stroke-opacity='.45'"
LINE: Final = "fill='none' stroke='currentColor' stroke-width='1.8' stroke-linejoin='round'"
OPEN: Final = (-inf, inf)
"""A band without ends."""

Values = Sequence[float | None]
"""A figure of one candidate in each weight; None in a weight that the candidate doesn't have."""


@dataclass(frozen=True)
class Slope:
    """A figure as its panel shows it, in cm and g; for the weight, how far it is off target."""

    figure: Figure
    unit: Unit

    @property
    def title(self) -> str:
        """The panel's title."""
        off = ", off target" if self.figure == WEIGHT else ""
        return f"{sentence_case(self.figure.words)}{off}, {self.unit.name}"

    def value(self, weight: WeightResult) -> float:
        """Return the figure of one ball."""
        value = self.figure.value(weight.ball)
        return value - weight.ball.map.mass if self.figure == WEIGHT else value

    def band(self, candidate: Candidate, weight: WeightResult) -> Span:
        """Return the ends of its target ± tolerance; of top weight, of what the limits allow."""
        linear_map = weight.ball.map
        if self.figure == TOP_WEIGHT:
            limits = [bound for bound in linear_map.bounds if bound.figure == TOP_WEIGHT]
            low = max((bound.low for bound in limits), default=-inf)
            return low, min((bound.high for bound in limits), default=inf)
        room = self.figure.tolerance(linear_map, None)
        if room is None:
            return OPEN
        aims = dict(zip(linear_map.target, candidate.result.figures, strict=True))
        aim = aims.get(self.figure, 0.0)
        return aim - room, aim + room

    def number(self, value: float, more: int | None = None) -> str:
        """Return a value as a number in the unit, with `more` digits than usual."""
        tell = self.unit.signed if self.figure == WEIGHT else self.unit.number
        return tell(value) if more is None else tell(value, more)


def slopes(comparison: Comparison, names: Mapping[str, str]) -> Pictures:
    """Return the panels; `names` are those of the weights by their labels, such as "16 lb"."""
    units = Units.of(comparison.first.result.scenario)
    figures = (LOW_RG, DIFFERENTIAL, WEIGHT, TOP_WEIGHT)
    every = [Slope(figure, units.by(figure.quantity)) for figure in figures]
    return panels(
        "slopes",
        "Low RG, differential, weight and top weight of each candidate",
        tuple(_panel(comparison, slope, names) for slope in every),
        "Each line is a candidate, from its heaviest weight to its lightest. The band is the "
        "candidate's target ± its tolerance; for top weight, what the limits allow.",
        across=2,
    )


def _panel(comparison: Comparison, slope: Slope, names: Mapping[str, str]) -> Picture:
    rows = [
        [None if weight is None else slope.value(weight) for weight in map(each.weight, names)]
        for each in comparison.candidates
    ]
    bands = _bands(comparison, slope)
    shown = [value for row in rows for value in row if value is not None]
    shown += [end for band in bands for span in band for end in span if isfinite(end)]
    span = wider((min(shown), max(shown)), 4 * 10.0**-slope.unit.digits * slope.unit.factor)
    frame = Frame((-0.5, len(names) - 0.5), span, (), ticks(span, slope.unit.factor))
    sheet = Sheet(frame, LEFT, RIGHT, TOP, TALL)
    body = (
        text(LEFT, 22, slope.title, f"font-size='13' {BOLD}"),
        *(line for band in bands for line in _band(sheet, band)),
        *small_axes(sheet, (), _labels(frame.beside, slope)),
        *classes(sheet, list(names)),
        *_lines(sheet, comparison.candidates, rows),
    )
    about = _about(comparison.candidates, rows, slope, names)
    name = f"slopes-{slope.figure.key.replace('_', '-')}"
    return Picture(name, slope.title, about, WIDTH, HEIGHT, body)


def _bands(comparison: Comparison, slope: Slope) -> list[tuple[Span, ...]]:
    """Return the bands of each candidate's weights, bands that look alike once."""
    bands = [
        tuple(
            OPEN if weight is None else slope.band(each, weight)
            for weight in map(each.weight, comparison.labels)
        )
        for each in comparison.candidates
    ]
    step = 10.0 ** -(slope.unit.digits + 2) * slope.unit.factor
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


def _labels(values: Sequence[float], slope: Slope) -> list[str]:
    """Return the labels of ticks, all with as many digits as they need."""
    unit, scaled = slope.unit, np.array(values) / slope.unit.factor
    rounded = (np.round(scaled, unit.digits + n) for n in range(4))
    more = next((n for n, near in enumerate(rounded) if np.all(abs(near - scaled) < 1e-6)), 4)
    return [slope.number(value, more) for value in values]


def _lines(sheet: Sheet, candidates: Sequence[Candidate], rows: Sequence[Values]) -> Iterator[str]:
    """Yield each candidate's line with its signs, side by side, and its name."""
    slot = (RIGHT - LEFT) / len(rows[0])
    step = min(10.0, 0.8 * slot / len(rows))
    ends = []
    for c, row in enumerate(rows):
        aside = (c - (len(rows) - 1) / 2) * step
        known = np.array([(k, value) for k, value in enumerate(row) if value is not None])
        points = [(x + aside, y) for x, y in sheet.at(known).tolist()]
        path = " L ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        yield f"<path class='slope' d='M {path}' {LINE} {dashes(c)}/>"
        yield from (sign(c, x, y, size=max(0.6, step / 10.0)) for x, y in points)
        ends.append(points[-1])
    for c, (candidate, (y, line)) in enumerate(zip(candidates, beside(sheet, ends), strict=True)):
        yield line
        yield sign(c, RIGHT + 15, y)
        yield text(RIGHT + 25, y + 4, candidate.name, "class='name' font-size='12'")


def _about(
    candidates: Sequence[Candidate],
    rows: Sequence[Values],
    slope: Slope,
    names: Mapping[str, str],
) -> str:
    lines = (
        f"{candidate.name}: "
        + ", ".join(
            f"{name} {'none' if value is None else slope.number(value)}"
            for name, value in zip(names.values(), row, strict=True)
        )
        for candidate, row in zip(candidates, rows, strict=True)
    )
    return "; ".join(lines) + "."
