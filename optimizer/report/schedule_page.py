"""The density schedule: what the foundry weighs and pours, and the proof beside it."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from optimizer.foundry.cautions import Cautions, cautions
from optimizer.foundry.rounding import fixed, rounded
from optimizer.foundry.worksheet import DIGITS, RegionSheet, Worksheet, worksheet
from optimizer.lineup.result import LineupResult
from optimizer.report.document import Block, Column, Heading, Notes, Paragraph, Table, left
from optimizer.report.lineup_page import axis_notes, class_names
from optimizer.report.proof import pounds, proof_notes, proof_table
from optimizer.report.warnings_ import result_warnings
from optimizer.report.words import POINT
from optimizer.scenario.scenario import Scenario

BLANK = "........"
"""Where a person writes."""


def schedule_blocks(result: LineupResult) -> tuple[Block, ...]:
    """Return the sheets of a feasible line-up, one a weight class, with notes and cautions."""
    return tuple(_blocks(result))


def _blocks(result: LineupResult) -> Iterator[Block]:
    scenario, names = result.scenario, class_names(result)
    sheets = [worksheet(weight.ball) for weight in result.weights]
    yield Heading(f"Density schedule: {scenario.name}, revision {scenario.revision}")
    yield _title_block(scenario, len(sheets))
    for i, sheet in enumerate(sheets):
        yield from _sheet(sheet, names[sheet.label], f"{i + 1}/{len(sheets)}", scenario.about)
    yield Heading("Notes")
    yield Notes(
        (
            *axis_notes(result.weights, names),
            *(f"Warning: {warning}" for warning in result_warnings(result)),
            *proof_notes(aligned=all(sheet.aligned for sheet in sheets)),
        )
    )
    yield from _cautions(cautions())


def _cautions(told: Cautions) -> Iterator[Block]:
    yield Heading("Cautions")
    yield Paragraph(told.always, "warning")
    yield Notes(told.cautions)
    yield Table(
        (left("agent"), left("OSHA limit"), left("NIOSH limit"), left("grade")),
        tuple((a.name, a.osha, a.niosh, a.grade) for a in told.agents),
    )
    yield Paragraph(told.advice, "warning")


def _title_block(scenario: Scenario, sheets: int) -> Table:
    """Return the fields of ISO 7200, with blanks for what only the shop knows."""
    return Table(
        (left("title block"), left("")),
        (
            ("legal owner", BLANK),
            ("document number", BLANK),
            ("title", f"Density schedule, {scenario.name}"),
            ("revision", scenario.revision),
            ("date of issue", BLANK),
            ("sheets", str(sheets)),
            ("prepared by", BLANK),
            ("checked by", BLANK),
            ("approved by", BLANK),
        ),
    )


def _sheet(sheet: Worksheet, name: str, number: str, about: str) -> Iterator[Block]:
    radii = sheet.about(about)
    yield Heading(f"Weight class {name}, sheet {number}: pour in this order, innermost first")
    yield _formula(sheet)
    yield Paragraph(
        f"Sum {sheet.mass} g ({pounds(sheet)} lb); class weight {sheet.asked} g{_spread(sheet)}; "
        f"difference {_signed(sheet.mass - sheet.asked)} g. "
        f"Low RG {radii.inches[0]} in, differential {radii.differential} in "
        f"about {POINT[about]}."
    )
    yield _record(sheet)
    yield Heading(f"Proof, weight class {name}")
    yield proof_table(sheet)


def _spread(sheet: Worksheet) -> str:
    tolerance = sheet.ball.map.mass_tolerance
    return "" if tolerance is None else f" ± {fixed(tolerance, DIGITS['mass'])} g"


def _formula(sheet: Worksheet) -> Table:
    columns = (
        left("part"),
        left("material"),
        Column("volume, cm³"),
        Column("density, g/cm³"),
        Column("±"),
        Column("mass, g"),
        Column("mass, oz"),
        Column("running, g"),
        Column("still to come, g"),
    )
    rows = tuple(
        (
            region.part,
            region.pour.material,
            str(region.volume),
            str(region.density),
            _tolerance(region),
            str(region.mass),
            str(region.ounces),
            str(region.running),
            f"{rounded(sheet.asked - region.running, DIGITS['mass'])}",
        )
        for region in sheet.regions
    )
    return Table(columns, rows)


def _tolerance(region: RegionSheet) -> str:
    tolerance = region.pour.tolerance
    return "-" if tolerance is None else fixed(tolerance, DIGITS["density"])


def _record(sheet: Worksheet) -> Table:
    """Return the blanks that a batch fills in (a control recipe, in the words of ISA-88)."""
    blanks = (
        "lot",
        "actual g",
        "time",
        "temperature",
        "measured density",
        "initials",
        "second check",
    )
    rows = tuple((region.part, *(BLANK for _ in blanks)) for region in sheet.regions)
    return Table((left("batch record"), *(left(blank) for blank in blanks)), rows)


def _signed(value: Decimal) -> str:
    return f"{value:+}"
