"""The density schedule: what the foundry weighs and pours, and the proof beside it."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
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
from optimizer.paper.quantities import Units
from optimizer.paper.words import NOT_HERE, listed, margin_lines, plural
from optimizer.questions.line_up.data import scenario_data
from optimizer.questions.line_up.frame import closing, titled
from optimizer.questions.line_up.page import axis_notes, class_names
from optimizer.questions.line_up.warnings import all_warnings
from optimizer.questions.schedule.casting import held_words
from optimizer.questions.schedule.ingredients import ingredient_table, recipe_tables
from optimizer.questions.schedule.pour import casting_tables, figures_table
from optimizer.questions.schedule.pouring.batch import too_thick
from optimizer.questions.schedule.pouring.cautions import Cautions, cautions
from optimizer.questions.schedule.pouring.schedule import ClassSchedule, Schedule
from optimizer.questions.schedule.pouring.worksheet import DIGITS, MIXED
from optimizer.questions.schedule.proof import proof_notes, proof_table
from shared.rounding import fixed

MARGINS = 3
"""Margins that are told on the sheet of the line."""
UNISSUED = "DRAFT: not to be poured from"
DATE, FOR = "date of issue", "for"
"""Fields of the title block."""


@dataclass(frozen=True)
class Issue:
    """What a sheet says of itself: the date of issue, where one is given."""

    date: str | None = None


UNDATED = Issue()


def issued(rows: Sequence[Sequence[str]]) -> tuple[int, Issue]:
    """Return for how many balls a sheet that was read back is, and what it says of its issue."""
    told = {name: value for row in rows for name, value in pairwise(row) if name in (DATE, FOR)}
    count = re.match(r"[0-9]{1,9}", told.get(FOR, ""))
    date = re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", told.get(DATE, "").strip())
    return int(count[0]) if count and int(count[0]) else 1, Issue(date and date[0])


@collected
def schedule_blocks(schedule: Schedule, issue: Issue = UNDATED) -> Iterator[Block]:
    """Yield the sheets of a schedule: the line, one a weight class, and the proof."""
    names, sheets = class_names(schedule.result), len(schedule.classes) + 1
    words, footer, every = cautions(), tuple(_footer(schedule)), listed([*names.values()])
    yield Page("line", f"weight classes {every}" if len(names) > 1 else f"weight class {every}")
    product = titled(schedule.result.scenario)
    yield Heading(f"Density schedule: {product}")
    yield _title_block(schedule, issue, every, f"1 of {sheets}")
    yield from _line(schedule, names)
    yield from _cautions(words)
    yield Heading("How the proof is worked")
    aligned = all(class_schedule.sheet.aligned for class_schedule in schedule.classes)
    density = Units.of(schedule.result.scenario).density
    yield Notes(tuple(proof_notes(density, MIXED - DIGITS["density"], aligned=aligned)))
    yield from footer
    for k, class_schedule in enumerate(schedule.classes):
        name = names[class_schedule.label]
        yield Page(name, f"weight class {name}")
        yield Heading(f"Density schedule: {product}, weight class {name}")
        yield _title_block(schedule, issue, name, f"{k + 2} of {sheets}")
        yield from _class(schedule, class_schedule, name)
        yield Paragraph(f"Cautions stand on sheet 1. {words.always}", "warning")
        yield from footer


def _title_block(schedule: Schedule, issue: Issue, name: str, number: str) -> Table:
    """Return the fields of ISO 7200, with blanks for what only the shop knows."""
    scenario, shop = schedule.result.scenario, schedule.shop.text
    pairs = (
        ("title", f"Density schedule, {scenario.name}", "sheet", number),
        ("weight class", name, "revision", scenario.revision),
        ("legal owner", shop.owner or DOTS, "document number", shop.document or DOTS),
        ("status", "RELEASED" if shop.status == "released" else UNISSUED, DATE, issue.date or DOTS),
        ("prepared by", DOTS, "checked by", DOTS),
        (FOR, f"{plural(schedule.balls, 'ball')} of a weight class", "approved by", DOTS),
    )
    return Table((left("title block"), left(""), left(""), left("")), pairs)


def _line(schedule: Schedule, names: dict[str, str]) -> Iterator[Block]:
    """Yield the summary: what each weight comes to, and what the line takes of each ingredient."""
    scenario, units = schedule.result.scenario, Units.of(schedule.result.scenario)
    yield Heading("The line, measured from what is weighed")
    drawn = {
        casting.part.name: casting.part
        for class_schedule in schedule.classes
        for casting in class_schedule.castings
    }
    parts = [part.name for part in casting_order(tuple(drawn.values()))]

    def densities(class_schedule: ClassSchedule) -> list[str]:
        made = {casting.part.name: casting.batch.density for casting in class_schedule.castings}
        return [units.density.number(made[p]) if p in made else NOT_HERE for p in parts]

    rg = units.rg
    yield (
        Listed(schedule.classes)
        .left("weight class", lambda class_schedule: names[class_schedule.label])
        .right("true mass, g", lambda class_schedule: fixed(class_schedule.mass, 1))
        .right("reads in air, g", lambda class_schedule: str(class_schedule.in_air))
        .right(
            f"low RG, {rg.name}",
            lambda class_schedule: rg.number(class_schedule.mixed.ball.radii.low, 1),
        )
        .right(
            f"differential, {rg.name}",
            lambda class_schedule: rg.number(class_schedule.mixed.ball.radii.differential, 1),
        )
        .right("farthest off, tolerances", lambda class_schedule: fixed(class_schedule.farthest, 2))
        .several((Column(f"{part}, {units.density.name}") for part in parts), densities)
        .table
    )
    yield ingredient_table(schedule)
    yield from recipe_tables(schedule)
    mixed = schedule.mixed.weights
    said = (
        *axis_notes(mixed, names, units),
        *(f"Warning: {warning}" for warning in all_warnings(scenario, mixed)),
        *(held_words(*strong, schedule.shop.text.hold_down) for strong in schedule.too_strong),
        *_readability(schedule),
    )
    if said:
        yield Notes(said)
    if smallest := margin_lines(schedule.mixed.margins, names, units, MARGINS):
        yield Heading("Smallest margins, as mixed")
        yield Notes(smallest)


def _readability(schedule: Schedule) -> Iterator[str]:
    """Yield how fine a scale must read, and how fine the one is that is used."""
    known = {class_schedule.name: class_schedule.readability for class_schedule in schedule.classes}
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


def _class(schedule: Schedule, class_schedule: ClassSchedule, name: str) -> Iterator[Block]:
    yield figures_table(class_schedule, schedule)
    yield from casting_tables(class_schedule, schedule)
    yield Heading(f"Proof, weight class {name}: from the densities as mixed")
    metric = schedule.result.scenario.text.units.rg != "in"
    yield proof_table(class_schedule.sheet, metric=metric)
    yield Paragraph("How the proof is worked stands on sheet 1.", "quiet")


def _footer(schedule: Schedule) -> Iterator[Block]:
    scales = schedule.shop.scales
    fine = "" if scales.fine is None else f" ({scales.fine[0]} g up to {scales.fine[1]} g)"
    sha = scenario_data(schedule.result.scenario)["sha256"]
    yield Paragraph(
        f"Masses are rounded to {scales.readability} g{fine} by ASTM E29's rounding method, half "
        "to even, but a pour up, and no batch is less than its pours; lengths, densities and "
        "masses are in the units that each column names. "
        f"Scenario sha256 {sha}; samespin {version()}.",
        "quiet",
    )
    yield from closing()


def _cautions(told: Cautions) -> Iterator[Block]:
    yield Heading("Cautions")
    yield Paragraph(told.always, "warning")
    yield Notes(told.cautions)
    yield Table(
        (left("agent"), left("OSHA limit"), left("NIOSH limit"), left("grade")),
        tuple((a.name, a.osha, a.niosh, a.grade) for a in told.agents),
    )
    yield Paragraph(told.advice, "warning")
