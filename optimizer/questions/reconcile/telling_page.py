"""Which one more reading would tell most, on the page."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.paper.document import Block, Column, Heading, Paragraph, Table, left
from optimizer.paper.quantities import Units
from optimizer.questions.reconcile.telling import More, Telling
from optimizer.questions.reconcile.words import unit_of

LIKELIEST = 4
"""Readings told that would tell most."""


def telling_blocks(every: tuple[Telling, ...], units: Units, *, old: bool) -> Iterator[Block]:
    """Yield the most telling readings; of an `old` ball no casting can be weighed."""
    if not any(told.more for told in every):
        return
    yield Heading("Which one more reading would tell most")
    priced = any(more.cost for told in every for more in told.more)
    columns = (
        left("of a ball like"),
        left("one more reading"),
        Column("its gauge repeats within"),
        left("what it narrows most"),
        Column(f"from, {units.density.name}"),
        Column(f"to, {units.density.name}"),
        *([Column("costs")] if priced else []),
    )
    alike: dict[tuple[tuple[str, ...], ...], list[str]] = {}
    for told in every:
        rows = tuple(_one_more(more, units, priced=priced) for more in told.more[:LIKELIEST])
        alike.setdefault(rows, []).append(f"{told.ball} ({told.label})")
    rows = tuple((", ".join(balls), *row) for rows, balls in alike.items() for row in rows)
    yield Table(columns, rows)
    per = ", per cost" if priced else ""
    part = every[0].part
    what = f"the density of {part} narrows (c-optimal)"
    if part is None:
        what = "all densities narrow together (D-optimal)"
    only = "" if old else " A casting can only be weighed before the next pour: on the next ball."
    yield Paragraph(f"Most telling first{per}: by how much {what}.{only}", "quiet")


def _one_more(more: More, units: Units, *, priced: bool) -> tuple[str, ...]:
    unit = unit_of(more.reading.kind, units)
    return (
        more.reading.name,
        unit.told(more.reading.sd, 1),
        more.part,
        units.density.number(more.now),
        units.density.number(more.then),
        *([f"{more.cost:g}" if more.cost else ""] if priced else []),
    )
