"""The half-cast ball on the foundry's sheet: what to weigh, and how the next pour moves."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from typing import Any

from optimizer.paper.document import DOTS, Block, Column, Notes, Paragraph, Table, left
from optimizer.paper.quantities import FIXED_UNITS, Unit
from optimizer.paper.words import listed
from optimizer.questions.line_up.data import number
from optimizer.questions.schedule.pouring.half_cast import HalfCast
from optimizer.questions.schedule.pouring.schedule import ClassSchedule, Schedule
from optimizer.questions.schedule.pouring.trust import FARTHEST, SHARES, Alone, AtWorst, Trust
from shared.rounding import fixed


def half_cast_blocks(weight: ClassSchedule, schedule: Schedule) -> Iterator[Block]:
    """Yield the line for a ball that is half cast and, where pours can be moved, their table."""
    first, *later = weight.sheet.pours
    if all(pour.fixed for pour in later):
        return
    table, trusted = schedule.half_cast.get(weight.label, (None, None))
    part = shlex.quote(table.weighed[0] if table else first.part)
    ask = f"samespin reconcile X --weight {shlex.quote(weight.label)} --cast {part}=…g"
    either = "either use the table below or" if table else "and ask"
    yield Paragraph(f"Half cast? Weigh each piece before the next pour, {either}: {ask}")
    if table is None or trusted is None:
        return
    density = schedule.units.density
    yield _moves(table, trusted, density)
    yield _at_worst(trusted, schedule)
    yield Notes(tuple(_notes(table, trusted)))


def _moves(table: HalfCast, trusted: Trust, density: Unit) -> Table:
    """Return the coefficients of each piece, with blanks for what is weighed and for the sums."""
    columns = (
        *(left("piece"), Column("weighed, g"), Column("sheet, g"), Column("over + or under -, g")),
        *(Column(f"{pour.part}, {density.name} per g") for pour in table.pours),
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
            line("sum of over × coefficient", (DOTS for _ in points)),
            line("+ sheet's density", (density.number(p.base) for p in points)),
            line("= pour at", (DOTS for _ in points)),
            line("at least", (density.number(p.low) for p in points)),
            line("at most", (density.number(p.high) for p in points)),
        ),
    )


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
        rows.append((f"{worst.target.figure.words}, {unit.name}", tolerance, *off))
    last = ("tolerance", "without the table", "with it", "with it, later pours exact")
    return Table((left("off at worst"), *map(Column, last)), tuple(rows))


def half_cast_notes(schedule: Schedule) -> Iterator[str]:
    """Yield how the tables are used, and how they were tried."""
    if not schedule.half_cast:
        return
    yield (
        "Half cast: a piece is weighed trimmed, before turning, with all that lies in it. Its grams "
        "over the sheet (under: negative) times its coefficients, summed down a column, move that "
        "pour, to the nearest step of its material."
    )
    yield (
        "Good alone: up to there, with no other casting off, each moved pour can be mixed and every "
        f"target is held (tried up to {FARTHEST} times its ±). Off at worst: all castings off by "
        "their ± at once, the table followed as printed, each ball measured; later pours are those "
        "after the last weighing, whose own ± nothing undoes."
    )
    if schedule.balls > 1:
        yield "Half-cast balls poured from one batch move together, by the mean of their sums."


def _notes(table: HalfCast, trusted: Trust) -> Iterator[str]:
    """Yield how far a table may be trusted, and what isn't moved."""
    yield _held(trusted, on_steps=any(pour.point.step for pour in table.pours))
    if table.tied:
        yield f"Not moved: {listed(table.tied)}, since other weights have the same pour."


def _held(trusted: Trust, *, on_steps: bool) -> str:
    """Return how far off all castings may be at once, and what to do beyond."""
    some = f"{trusted.tried} combinations" + ("" if trusted.whole else " (of more)")
    if trusted.held == 1.0:
        return f"In all {some} every target is held. Beyond ({_grams(trusted, 1.0)}): reconcile."
    others = [f"{trusted.untouched:.2f} without the table"]
    if on_steps:
        others.append(f"{trusted.between:.2f} with set-points between the steps")
    if not trusted.held:
        return (
            f"In some of {some} a target is missed, even with all castings off by only "
            f"{SHARES[0]:.2f} of their ± ({', '.join(others)}): don't trust the table, reconcile."
        )
    return (
        f"In some of {some} a target is missed. The table holds every target while all castings "
        f"are off by no more than {trusted.held:.2f} of their ± ({_grams(trusted, trusted.held)}); "
        f"{', '.join(others)}. Beyond: reconcile."
    )


def _grams(trusted: Trust, share: float) -> str:
    """Return a share of the castings' ±."""
    return listed([f"{part} {fixed(share * each, 1)} g" for part, each in trusted.grams.items()])


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
