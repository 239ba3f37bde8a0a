"""The pictures of first balls: densities aimed at and poured, and figures against their bands."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.paper.pictures.picture import BOLD, FAINT, GREY, Picture, cut, text
from optimizer.paper.pictures.sheet import LEFT, TOP, drawing
from optimizer.paper.pictures.ticks import Span, ticks, wider
from optimizer.paper.quantities import Units
from optimizer.questions.line_up.frame import titled
from optimizer.questions.reconcile.finding import Reconciled
from optimizer.questions.reconcile.measured.measurements import FIGURES
from optimizer.questions.reconcile.words import give_or_take, placed, unit_of
from optimizer.spread.adjustment import BEYOND

MOST: Final = 12
"""Balls in a picture."""
NAMES, WIDE, ROW = 180.0, 490.0, 20.0
"""px: for the names of the rows; of the plot; from one row to the next."""
INK: Final = "stroke='currentColor' stroke-width='1.6' fill='none'"


@dataclass(frozen=True)
class _Row:
    """A row: its name, a band (shaded), an estimate with its interval, and readings by itself."""

    name: str
    band: Span
    estimate: float
    interval: Span
    readings: tuple[float, ...] = ()
    word: str = ""


@dataclass(frozen=True)
class _Groups:
    """Rows under headings, on one scale in a `unit`; `zero`: with a line there."""

    each: Sequence[tuple[str, Sequence[_Row]]]
    unit: float
    zero: bool


def poured_picture(found: Reconciled) -> Picture:
    """Return what each part's density came to, beside what was aimed at."""
    units, wide = Units.of(found.scenario), found.aimed.lineup is None
    balls = found.balls[:MOST]
    groups = []
    for part in dict.fromkeys(part.part for ball in balls for part in ball.parts):
        rows = []
        for ball in balls:
            for own in (one for one in ball.parts if one.part == part and one.before):
                zero = 0.0 if wide else own.aimed
                reach = BEYOND * own.before
                low, high = own.interval
                rows.append(
                    _Row(
                        f"ball {ball.ball.name} ({ball.ball.label})",
                        (own.aimed - zero - reach, own.aimed - zero + reach),
                        own.estimate - zero,
                        (low - zero, high - zero),
                        word=units.density.number(own.estimate),
                    )
                )
        if rows:
            groups.append((part, rows))
    about = " ".join(
        f"{part.part} of ball {ball.ball.name}: "
        f"{give_or_take(part.estimate, part.sd, units.density)} {units.density.name}."
        for ball in balls
        for part in ball.parts
    )
    name = "density" if wide else "more than aimed at"
    return _plot(
        "poured",
        f"{titled(found.scenario)}: what was poured",
        about,
        f"{name}, {units.density.name}; bar: what was likely before any reading, 95 %; mark and "
        f"whisker: the estimate with its 95 % interval{_left_out(found)}",
        _Groups(groups, units.density.factor, zero=not wide),
    )


def bands_picture(found: Reconciled) -> Picture | None:
    """Return each ball's figures against the target's bands; None where there are none."""
    units, groups = Units.of(found.scenario), []
    about = list[str]()
    for ball in found.balls[:MOST]:
        rows = []
        bands = {b.figure.lower(): b for b in found.aimed.bands.get(ball.ball.label, ())[::-1]}
        for figure in ball.figures:
            band = bands.get(figure.name)
            if band is None or band.rule is not None:
                continue
            middle, half = (band.low + band.high) / 2.0, (band.high - band.low) / 2.0
            unit = unit_of(FIGURES[figure.name], units)
            low, high = ((end - middle) / half for end in figure.interval)
            read = [one.value for one in ball.ball.readings if one.kind.name == figure.name]
            word = placed(figure, band)
            rows.append(
                _Row(
                    figure.words,
                    (-1.0, 1.0),
                    (figure.estimate - middle) / half,
                    (low, high),
                    tuple((value - middle) / half for value in read),
                    f"{unit.told(figure.estimate)}, {word}",
                )
            )
            about.append(f"Ball {ball.ball.name}, {rows[-1].name}: {rows[-1].word}.")
        if rows:
            groups.append((f"ball {ball.ball.name} ({ball.ball.label})", rows))
    if not groups:
        return None
    return _plot(
        "bands",
        f"{titled(found.scenario)}: the balls against their target",
        " ".join(about),
        "off the target, in its tolerances; bar: what is allowed; mark and whisker: the ball by "
        f"all that is known, 95 %; crosses: single readings{_left_out(found)}",
        _Groups(groups, 1.0, zero=True),
    )


def _left_out(found: Reconciled) -> str:
    more = len(found.balls) - MOST
    return f"; the first {MOST} balls, {more} more in the table" if more > 0 else ""


def _plot(
    name: str,
    title: str,
    about: str,
    under: str,
    shown: _Groups,
) -> Picture:
    """Return rows in groups, all on one scale."""
    groups, unit = shown.each, shown.unit
    every = [row for _, rows in groups for row in rows]
    ends = [end for row in every for end in (*row.band, *row.interval, *row.readings)]
    span = wider((min(ends), max(ends)), 0.0)
    rows = sum(len(rows) + 1 for _, rows in groups)
    bottom = TOP + ROW * (rows + 1)

    def body() -> Iterator[str]:
        def at(value: float) -> float:
            return LEFT + NAMES + WIDE * (value - span[0]) / (span[1] - span[0])

        for tick in ticks(span, unit):
            x = at(tick)
            yield f"<path d='M {x:.1f},{TOP} V {bottom}' {FAINT}/>"
            yield text(x, bottom + 18, f"{tick / unit:g}", "text-anchor='middle'")
        if shown.zero:
            yield f"<path d='M {at(0.0):.1f},{TOP} V {bottom}' stroke='currentColor'/>"
        y = TOP + ROW
        for heading, group in groups:
            yield text(LEFT, y, cut(heading, 32), BOLD)
            y += ROW
            for row in group:
                yield from _row(row, at, y)
                y += ROW

    return drawing(name, title, about, under, body(), below=bottom + 40)


def _row(row: _Row, at: Callable[[float], float], y: float) -> Iterator[str]:
    low, high, left, right, x = (at(value) for value in (*row.band, *row.interval, row.estimate))
    yield text(LEFT + NAMES - 12, y, cut(row.name, 26), "text-anchor='end'")
    yield (
        f"<rect x='{low:.1f}' y='{y - 12:.1f}' width='{high - low:.1f}' height='14' "
        "fill='currentColor' fill-opacity='.12'/>"
    )
    yield f"<path d='M {left:.1f},{y - 9:.1f} v 8 m 0,-4 H {right:.1f} m 0,-4 v 8' {INK}/>"
    yield f"<circle cx='{x:.1f}' cy='{y - 5:.1f}' r='3.5' fill='currentColor'/>"
    for value in row.readings:
        place = at(value)
        yield f"<path d='M {place - 4:.1f},{y - 9:.1f} l 8,8 m 0,-8 l -8,8' {INK}/>"
    yield text(LEFT + NAMES + WIDE + 12, y, row.word, GREY)
