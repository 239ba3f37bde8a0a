"""The screen of `explore`: the best candidates, where the best tenth lies, and how to go on."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from optimizer.ball.targets import Span
from optimizer.paper.document import (
    Block,
    Chart,
    Column,
    Heading,
    Listed,
    Notes,
    Paragraph,
    Table,
    Tone,
    collected,
    left,
)
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import POINT, listed, plural
from optimizer.questions.explore.row import ACCEPTED, CandidateRow
from optimizer.questions.explore.summary import Summary
from optimizer.questions.explore.table import Table as Candidates
from optimizer.questions.line_up.frame import closing, stated
from optimizer.scenario.scenario import Rack
from optimizer.scenario.source.toml_text import toml_key
from optimizer.scenario.text.scenario_text import FreeDimension
from shared.rounding import fixed
from shared.units import INCH

STATUS: Mapping[str, str] = {
    "feasible": "feasible",
    "within_tolerance": "within tolerance",
    "limit broken": "on target but outside a limit",
    "target missed": "off target",
    "no mould": "with parts that cross or a shape that can't exist",
    "not solved": "left undecided by a solver",
}
"""Each status in words, in the order in which they are listed."""

AS_STANDS: Final = (
    "each free dimension at its start, or mid-range where none is given; the first mould on a rack"
)
REACH: Mapping[str, str] = {
    "exact": "exact for {}",
    "found": "possibly wider for {}",
    "unknown": "not known for {}",
    "not sought": "not computed for {}, with a part off the pin axis (samespin window does it)",
}
"""How a reach is known, in words."""


@collected
def explore_blocks(table: Candidates, summary: Summary) -> Iterator[Block]:
    """Yield the screen of an exploration."""
    units = Units.of(table.asked)
    yield stated(table.asked, *_status(summary))
    yield Paragraph(_aim(table, units))
    if summary.best:
        called, count = summary.best[0].called, len(summary.best)
        yield Heading(f"The {called} {count}" if count > 1 else f"The {called}")
        yield _best(table, summary.best, units.rg)
        few, all_ = plural(len(summary.tenth), "candidate"), summary.measured
        yield Heading(f"Where the best {few} lie, of {all_} with a margin")
        yield _ranges(table, summary)
    yield Notes(tuple(_notes(summary)))
    if summary.best:
        yield Heading("To start from the best, in [dimensions]")
        yield Chart(starts(table, summary.best[0]))
    yield from closing()


def _status(summary: Summary) -> tuple[str, Tone]:
    counts = found_line(summary)
    if not summary.best:
        return f"{counts} None has a margin.", "warning"
    best = summary.best[0]
    which = f"candidate {best.number}{' (the drawing as it stands)' * (best.number == 1)}"
    if best.status not in ACCEPTED:
        short = fixed(-(best.margin or 0.0), 1)
        return f"{counts} Nearest: {which}, outside a limit by {short} tolerances.", "warning"
    outcome = f"smallest margin {margin(best, 1)} tolerances"
    if best.off is not None:
        outcome = f"within tolerance, its largest deviation {fixed(best.off, 1)} of a tolerance"
    return f"{counts} Best: {which}, {outcome}.", "good"


def found_line(summary: Summary) -> str:
    """Return how many candidates there are, and how many of them can be poured."""
    within = f", {summary.within} within tolerance" if summary.within else ""
    return f"{plural(summary.count, 'candidate')}, {summary.feasible} feasible{within}."


def _aim(table: Candidates, units: Units) -> str:
    aim = listed(
        [
            f"{figure.words} {_span(span, units.by(figure.quantity))}"
            for figure, span in table.asked.target.items()
        ]
    )
    return (
        f"Target: {aim}, about {POINT[table.asked.about]}. Each candidate is one mould with its "
        "densities solved for. Its margin is the smallest one, walls included, in tolerances; "
        "below zero, a limit is broken by that much. Feasible ranks first, "
        "the larger margin before the smaller; then within tolerance, the least off target first."
    )


def _span(span: Span, unit: Unit) -> str:
    if span.fixed:
        return unit.exact(span.low)
    return f"from {unit.number(span.low)} to {unit.told(span.high)} (free)"


def margin(row: CandidateRow, digits: int) -> str:
    """Return a candidate's smallest margin as printed."""
    return "none" if row.margin is None else fixed(row.margin, digits)


def limit_line(row: CandidateRow) -> str:
    """Return the limit that sets a candidate's smallest margin: "16: cover density max"."""
    return f"{row.weight}: {f'{row.part} {row.limit}'.strip()}" if row.limit else ""


def _best(table: Candidates, rows: Sequence[CandidateRow], unit: Unit) -> Table:
    return (
        Listed(rows)
        .right("candidate", lambda row: str(row.number))
        .several(map(Column, table.names), lambda row: [f"{value:g}" for value in row.values])
        .left("status", lambda row: row.status.replace("_", " "))
        .right("margin, tolerances", lambda row: margin(row, 2))
        .left("limit that makes it", limit_line)
        .right(f"differential within reach, {unit.name}", lambda row: _ends(row.differential, unit))
        .right(f"low RG within reach, {unit.name}", lambda row: _ends(row.rg, unit))
        .table
    )


def _ends(ends: tuple[float, float] | None, unit: Unit) -> str:
    return "none" if ends is None else " to ".join(unit.number(end * INCH, 1) for end in ends)


def _ranges(table: Candidates, summary: Summary) -> Table:
    """Return for each slot where the best tenth lies in the range searched."""
    rows, unit = [], table.asked.reading.length
    every = zip(*(row.values for row in summary.tenth), strict=True)
    for name, slot, values in zip(table.names, table.slots, every, strict=True):
        low, high = min(values), max(values)
        if isinstance(slot.of, Rack):
            searched = ", ".join(f"{value:g}" for value in slot.of.values)
            share = f"{len(set(values))} of {len(slot.of.values)}"
        else:
            searched = f"{slot.of.low / unit:g} to {slot.of.high / unit:g}"
            share = f"{fixed(100 * (high - low) * unit / slot.of.span, 0)} %"
        rows.append((name, f"{low:g} to {high:g}", searched, share))
    headers = (left("dimension"), Column("best lie at"), Column("searched"), Column("share of it"))
    return Table(headers, tuple(rows))


def _notes(summary: Summary) -> Iterator[str]:
    counts = summary.statuses
    outcomes = [f"{counts[key]} {words}" for key, words in STATUS.items() if counts.get(key)]
    yield f"The candidates: {listed(outcomes)}."
    if summary.count > summary.feasible + summary.within:
        yield "For the rest no feasible densities were found: not a proof that none exist."
    if summary.as_drawn is not None:
        outcome = STATUS[summary.as_drawn.status]
        if summary.as_drawn.margin is not None:
            outcome += f", margin {margin(summary.as_drawn, 2)} tolerances"
        yield f"Candidate 1 is the drawing as it stands ({AS_STANDS}): {outcome}."
    known = [
        text.format(summary.reaches[key]) for key, text in REACH.items() if summary.reaches.get(key)
    ]
    yield (
        "Within reach: the differential that all weights can share at the target's RG, and the low "
        "RG they can share at the target's differential, within every limit that densities affect "
        f"({listed(known) if known else 'known for no candidate'})."
    )
    if summary.best:
        yield (
            "If the best candidates lie in a small share of a dimension's range, that dimension "
            "matters; if they lie at its end, a wider range may give more room."
        )
        yield (
            "The candidates are samples: solve, started from one of them, searches for the best "
            "mould nearby."
        )


def starts(table: Candidates, row: CandidateRow) -> tuple[str, ...]:
    """Return the lines to paste under [dimensions] so that a search starts at a candidate."""
    values: dict[str, dict[str, float]] = {}
    for slot, value in zip(table.slots, row.values, strict=True):
        values.setdefault(slot.of.name, {}).update(dict.fromkeys(slot.labels, value))
    return tuple(
        f"{toml_key(name)} = {_dimension(table, name, each)}" for name, each in values.items()
    )


def _dimension(table: Candidates, name: str, by_label: Mapping[str, float]) -> str:
    """Return a dimension in TOML with its start or, where weights differ, their values."""
    text = table.asked.text.dimensions[name]
    if len(set(by_label.values())) > 1:
        each = ", ".join(f"{toml_key(label)} = {value:.12g}" for label, value in by_label.items())
        return f"{{ each = {{ {each} }} }}"
    (value,) = set(by_label.values())
    if not isinstance(text, FreeDimension):
        return f"{value:.12g}"
    same = "" if text.same == "all" else f", same = {json.dumps(text.same)}"
    return f"{{ min = {text.min:.12g}, max = {text.max:.12g}, start = {value:.12g}{same} }}"
