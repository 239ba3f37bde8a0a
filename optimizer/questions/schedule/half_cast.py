"""The half-cast ball on the foundry's sheet: what to weigh, and how the next pour moves."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Final

from optimizer.paper.document import DOTS, Block, Column, Notes, Paragraph, Table, left
from optimizer.paper.quantities import FIXED_UNITS, Unit, decimals
from optimizer.paper.words import listed
from optimizer.questions.line_up.data import number
from optimizer.questions.schedule.pouring.half_cast import HalfCast
from optimizer.questions.schedule.pouring.schedule import ClassSchedule, Schedule
from optimizer.questions.schedule.pouring.trust import (
    FARTHEST,
    SHARES,
    SIGMAS,
    Alone,
    AtWorst,
    Trust,
)
from optimizer.scatter.set_points import SetPoint
from shared.rounding import fixed

COARSER: Final = 2
"""Digits fewer for what can be mixed than for a density."""


def half_cast_blocks(weight: ClassSchedule, schedule: Schedule) -> Iterator[Block]:
    """Yield what to do with a ball that is half cast, unless every later pour is given.

    Where pours can be moved, a table says by how much, and how far it may be trusted.
    """
    first, *later = weight.sheet.pours
    if all(pour.fixed for pour in later):
        return
    table, trusted = schedule.half_cast.get(weight.label, (None, None))
    part = shlex.quote(table.weighed[0] if table else first.part)
    ask = f"samespin reconcile X --weight {shlex.quote(weight.label)} --cast {part}=…g"
    either = "either use the table below or:" if table else "ask:"
    yield Paragraph(f"Half cast? Weigh each piece before the next pour, and {either} {ask}")
    if table and trusted:
        yield _moves(table, trusted, schedule.units.density)
        yield _at_worst(trusted, schedule)
        yield Notes(tuple(_notes(table, trusted)))


def _moves(table: HalfCast, trusted: Trust, density: Unit) -> Table:
    """Return the coefficients of each piece, with blanks for what is weighed and for the sums."""
    columns = (
        *(
            left(f"{density.name} per g"),
            Column("weighed, g"),
            Column("sheet, g"),
            Column("over, g"),
        ),
        *(Column(f"× {pour.part}") for pour in table.pours),
        Column("good alone, g"),
    )
    sheet = dict(zip(table.order, table.sheet, strict=True))
    pieces = [
        (
            *(part, DOTS, str(sheet[part]), DOTS),
            *("" if each is None else f"{each:f}" for each in table.column(part)),
            _range(trusted.alone[part]),
        )
        for part in table.weighed
    ]
    points = [pour.point for pour in table.pours]

    def line(name: str, cells: Iterator[str]) -> tuple[str, ...]:
        return name, "", "", "", *cells, ""

    return Table(
        columns,
        (
            *pieces,
            line(f"sum: moves by, {density.name}", (DOTS for _ in points)),
            line(f"on the sheet, {density.name}", (density.number(p.base) for p in points)),
            line(f"so pour at, {density.name}", (DOTS for _ in points)),
            line(f"mixable, {density.name}", (_mixable(p, density) for p in points)),
        ),
    )


def _mixable(point: SetPoint, density: Unit) -> str:
    """Return the steps between which a pour may lie: its material's, or of two digits fewer."""
    step = point.step or density.factor * 10.0 ** (COARSER - density.digits)
    ends = replace(point, step=step).ends
    return "–".join(fixed(end / density.factor, decimals(step, density)) for end in ends)


def _range(ends: tuple[Alone, Alone]) -> str:
    """Return by how much a casting alone may be too light and too heavy."""
    light, heavy = ends
    return f"{light.grams:f} to {'+' if heavy.grams else ''}{heavy.grams:f}"


def _at_worst(trusted: Trust, schedule: Schedule) -> Table:
    """Return how far the target's figures are off at worst, without the table and with it."""
    rows = []
    for worst in trusted.worst:
        unit = schedule.units.by(worst.target.figure.quantity)
        off = (unit.number(far, 1) for far in (worst.without, worst.followed, worst.true))
        tolerance = f"± {unit.number(worst.target.tolerance or 0.0, 1)}"
        rows.append((f"{worst.target.figure.words} off, {unit.name}", tolerance, *off))
    last = ("tolerance", "without table", "with table", "later pours exact")
    return Table(
        (left(f"worst of {trusted.tried}{'' if trusted.whole else ' tried'}"), *map(Column, last)),
        tuple(rows),
    )


def half_cast_notes(schedule: Schedule) -> Iterator[str]:
    """Yield how the tables are used, and how they were tried."""
    if not schedule.half_cast:
        return
    yield (
        "Half cast: weigh a piece trimmed, before turning, with all in it. Its grams over the "
        "sheet (under: negative) times the coefficients, summed down a column, move that pour, to "
        "the nearest step of its material."
    )
    yield (
        "Good alone: with only this casting off, by so much, moved pours can be mixed and targets "
        f"are held (tried to {FARTHEST} times its ±). Worst: all off by their ± at once, "
        "the table followed as printed, each ball measured. Later pours: after the last weighing."
    )
    if any(trusted.endless for _, trusted in schedule.half_cast.values()):
        yield f"A density whose spread has no ends counts as ± {SIGMAS:g} standard deviations."
    if schedule.balls > 1:
        yield "Half-cast balls poured from one batch move together, by the mean of their sums."


def _notes(table: HalfCast, trusted: Trust) -> Iterator[str]:
    """Yield how far a table may be trusted, and what isn't moved."""
    yield _held(trusted, on_steps=any(pour.point.step for pour in table.pours))
    if table.tied:
        yield f"Not moved: {listed(table.tied)}, since other weights have the same pour."


def _held(trusted: Trust, *, on_steps: bool) -> str:
    """Return how far off all castings may be at once, and what to do beyond."""
    others = [f"without table {trusted.untouched:.2f}"]
    if on_steps:
        others.append(f"set between steps {trusted.between:.2f}")
    compared = f"({', '.join(others)})"
    if not trusted.held:
        few = f"All off at once by {SHARES[0]:.2f} of their ±, targets are missed"
        return f"{few} {compared}: don't trust the table, ask samespin reconcile."
    most = ", ".join(f"{part} {fixed(trusted.held * g, 1)} g" for part, g in trusted.grams.items())
    return (
        f"All off at once, targets hold to {trusted.held:.2f} of each ±: {most} {compared}. "
        "Beyond: samespin reconcile."
    )


def half_cast_data(weight: ClassSchedule, schedule: Schedule) -> dict[str, Any] | None:
    """Return the table of a weight as JSON types, None where no pour can be moved."""
    if weight.label not in schedule.half_cast:
        return None
    table, trusted = schedule.half_cast[weight.label]
    sheet = dict(zip(table.order, table.sheet, strict=True))
    return {
        "pieces": [
            {
                "part": part,
                "sheet_g": float(sheet[part]),
                "alone_g": [float(end.grams) for end in trusted.alone[part]],
                "alone_ends": [end.ends for end in trusted.alone[part]],
            }
            for part in table.weighed
        ],
        "pours": [
            {
                "part": pour.part,
                "density_g_cm3": number(pour.point.base),
                "low_g_cm3": number(pour.point.low),
                "high_g_cm3": number(pour.point.high),
                "step_g_cm3": pour.point.step,
                "g_cm3_per_g": {
                    part: float(each) * pour.unit.factor
                    for part, each in zip(table.order, pour.coefficients, strict=False)
                },
            }
            for pour in table.pours
        ],
        "not_moved": list(table.tied),
        "combinations": trusted.tried,
        "all_combinations": trusted.whole,
        "off_g": {part: number(grams) for part, grams in trusted.grams.items()},
        "at_worst": [_worst_data(worst) for worst in trusted.worst],
        "held_share": trusted.held,
        "held_share_between_steps": trusted.between,
        "held_share_without": trusted.untouched,
    }


def _worst_data(worst: AtWorst) -> dict[str, Any]:
    unit, factor = FIXED_UNITS[worst.target.figure.quantity]
    return {
        "target": worst.target.figure.key.replace("_", " "),
        "unit": unit,
        "tolerance": number((worst.target.tolerance or 0.0) / factor),
        "without": number(worst.without / factor),
        "with": number(worst.followed / factor),
        "with_later_exact": number(worst.true / factor),
    }
