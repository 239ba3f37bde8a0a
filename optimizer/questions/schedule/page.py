"""The density schedule: what the foundry weighs and pours, and the proof beside it."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from geometry.nesting import casting_order
from optimizer import version
from optimizer.paper.document import (
    DOTS,
    Block,
    Column,
    Heading,
    Listed,
    Notes,
    Page,
    Paragraph,
    Table,
    collected,
    left,
)
from optimizer.paper.words import NOT_HERE, listed, margin_lines, plural
from optimizer.questions.line_up.data import identity
from optimizer.questions.line_up.frame import closing, titled
from optimizer.questions.line_up.page import axis_notes, class_names
from optimizer.questions.line_up.warnings import all_warnings
from optimizer.questions.schedule.casting import held_warnings
from optimizer.questions.schedule.half_cast import half_cast_notes
from optimizer.questions.schedule.ingredients import ingredient_table, recipe_tables
from optimizer.questions.schedule.pour import casting_tables, figures_table
from optimizer.questions.schedule.pouring.batch import too_thick
from optimizer.questions.schedule.pouring.cautions import cautions
from optimizer.questions.schedule.pouring.schedule import ClassSchedule, Schedule
from optimizer.questions.schedule.pouring.worksheet import DIGITS, MIXED
from optimizer.questions.schedule.proof import proof_notes, proof_table
from shared.rounding import fixed

MARGINS = 3
"""Margins on the sheet of the line."""
UNISSUED = "DRAFT: not to be poured from"
DATE, FOR = "date of issue", "for"
"""Fields of the title block."""


def issued(rows: Sequence[Sequence[str]]) -> tuple[int, str | None]:
    """Return the number of balls that a sheet which was read is for, and its date of issue."""
    fields = {name: value for row in rows for name, value in pairwise(row) if name in (DATE, FOR)}
    count = re.match(r"[0-9]{1,9}", fields.get(FOR, ""))
    date = re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", fields.get(DATE, "").strip())
    return int(count[0]) if count and int(count[0]) else 1, date and date[0]


@collected
def schedule_blocks(schedule: Schedule, date: str | None = None) -> Iterator[Block]:
    """Yield the sheets of a schedule: one for the line, then one for each weight class."""
    sheets, footer = len(schedule.classes) + 1, tuple(_footer(schedule))
    every, always = listed([weight.name for weight in schedule.classes]), cautions().always
    yield Page("line", f"weight class{'es' if len(schedule.classes) > 1 else ''} {every}")
    product = titled(schedule.scenario)
    yield Heading(f"Density schedule: {product}")
    yield _title_block(schedule, date, every, f"1 of {sheets}")
    yield from _line(schedule)
    yield from _cautions()
    yield Heading("How the proof is worked")
    aligned = all(weight.sheet.aligned for weight in schedule.classes)
    finer = MIXED - DIGITS["density"]
    worked = proof_notes(schedule.units.density, finer, aligned=aligned)
    yield Notes((*worked, *half_cast_notes(schedule)))
    yield from footer
    metric = schedule.scenario.text.units.rg != "in"
    for number, weight in enumerate(schedule.classes, start=2):
        yield Page(weight.name, f"weight class {weight.name}")
        yield Heading(f"Density schedule: {product}, weight class {weight.name}")
        yield _title_block(schedule, date, weight.name, f"{number} of {sheets}")
        yield figures_table(weight, schedule)
        yield from casting_tables(weight, schedule)
        yield Heading(f"Proof, weight class {weight.name}: from the densities as mixed")
        yield proof_table(weight.sheet, metric=metric)
        yield Paragraph("How the proof is worked stands on sheet 1.", "quiet")
        yield Paragraph(f"Cautions stand on sheet 1. {always}", "warning")
        yield from footer


def _title_block(schedule: Schedule, date: str | None, name: str, number: str) -> Table:
    """Return the fields of ISO 7200, with blanks for what only the shop knows."""
    scenario, shop = schedule.scenario, schedule.shop.text
    pairs = [
        ("title", f"Density schedule, {scenario.name}", "sheet", number),
        ("weight class", name, "revision", scenario.revision),
        ("legal owner", shop.owner or DOTS, "document number", shop.document or DOTS),
        ("status", "RELEASED" if shop.status == "released" else UNISSUED, DATE, date or DOTS),
        ("prepared by", DOTS, "checked by", DOTS),
        (FOR, f"{plural(schedule.balls, 'ball')} of a weight class", "approved by", DOTS),
    ]
    if changed := scenario.what_if.words.removeprefix(", "):
        pairs.append(("variant", changed, "", ""))
    return Table((left("title block"), left(""), left(""), left("")), tuple(pairs))


def _line(schedule: Schedule) -> Iterator[Block]:
    """Yield the figures of each weight class, and what the line takes of each ingredient."""
    units, names = schedule.units, class_names(schedule.result)
    rg, density = units.rg, units.density
    drawn = {casting.part.name: casting.part for casting in schedule.castings}
    parts = [part.name for part in casting_order(tuple(drawn.values()))]

    def densities(weight: ClassSchedule) -> list[str]:
        made = {each.part.name: density.number(each.batch.density) for each in weight.castings}
        return [made.get(part, NOT_HERE) for part in parts]

    yield Heading("The line, measured from what is weighed")
    yield (
        Listed(schedule.classes)
        .left("weight class", lambda weight: weight.name)
        .right("true mass, g", lambda weight: fixed(weight.mass, 1))
        .right("reads in air, g", lambda weight: str(weight.in_air))
        .right(f"low RG, {rg.name}", lambda weight: rg.number(weight.radii.low, 1))
        .right(f"differential, {rg.name}", lambda weight: rg.number(weight.radii.differential, 1))
        .right("farthest off, tolerances", lambda weight: fixed(weight.farthest, 2))
        .several((Column(f"{part}, {density.name}") for part in parts), densities)
        .table
    )
    yield ingredient_table(schedule)
    yield from recipe_tables(schedule)
    mixed = schedule.mixed.weights
    notes = (
        *axis_notes(mixed, names, units),
        *(f"Warning: {warning}" for warning in all_warnings(schedule.scenario, mixed)),
        *held_warnings(schedule),
        *_readability(schedule),
    )
    yield Notes(notes)
    if smallest := margin_lines(schedule.mixed.margins, names, units, MARGINS):
        yield Heading("Smallest margins, as mixed")
        yield Notes(smallest)


def _readability(schedule: Schedule) -> Iterator[str]:
    """Yield the readability that a scale needs, and that of the scale used."""
    known = {weight.name: weight.readability for weight in schedule.classes}
    finest = min((r for r in known.values() if r is not None), default=math.inf)
    if blind := [label for label, r in known.items() if r is None]:
        yield (
            f"Warning: with every ingredient off by half a step of the scale in the worst way, no "
            f"scale holds every target of weight {listed(blind)}: it is off already."
        )
    elif finest < math.inf:
        yield (
            f"Scale needed: one that reads to {finest:g} g or finer holds every target, even with "
            "every ingredient of every pour off by half a step in the worst way at once."
        )
    scale = schedule.shop.text.scale
    if scale is not None and scale > finest:
        yield (
            f"Warning: the shop's scale reads to {scale:g} g, coarser than that: with the "
            "ingredients off by half a step in the worst way, a target can be missed."
        )
    if any(too_thick(mix) for mix in schedule.mixes):
        yield "Warning: as weighed, a mix has more solids than its recipe allows."
    yield "± g: one step of the scale, or 0.1 % where that is more (common practice, no source)."
    if scale is None:
        yield "No scale is named in the scenario ([foundry] scale): masses stand to 0.01 g."


def _footer(schedule: Schedule) -> Iterator[Block]:
    scales = schedule.shop.scales
    fine = "" if scales.fine is None else f" ({scales.fine[0]} g up to {scales.fine[1]} g)"
    yield Paragraph(
        f"Masses are rounded to {scales.readability} g{fine} by ASTM E29's rounding method, half "
        "to even, but a pour up, and no batch is less than its pours; lengths, densities and "
        "masses are in the units that each column names. "
        f"Scenario sha256 {identity(schedule.scenario)['sha256']}; samespin {version()}.",
        "quiet",
    )
    yield from closing()


def _cautions() -> Iterator[Block]:
    shipped = cautions()
    yield Heading("Cautions")
    yield Paragraph(shipped.always, "warning")
    yield Notes(shipped.cautions)
    columns = map(left, ("agent", "OSHA limit", "NIOSH limit", "grade"))
    yield Table(tuple(columns), shipped.agents)
    yield Paragraph(shipped.advice, "warning")
