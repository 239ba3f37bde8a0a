"""What `solve --for good-share` says of the drawing that it picked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from optimizer.paper.document import Block, Column, Heading, Notes, Table
from optimizer.questions.line_up.data import number
from optimizer.questions.line_up.page import class_names
from optimizer.questions.tolerance.drawing import Picked
from optimizer.questions.tolerance.words import percent


def picked_blocks(picked: Picked) -> tuple[Block, ...]:
    """Return what the share of good balls was, and is."""
    return tuple(_blocks(picked))


def _blocks(picked: Picked) -> Iterator[Block]:
    yield Heading("Good balls under the shop's spread")
    names = class_names(picked.before)
    columns = [Column("weight", "left"), Column("drawn for margins")]
    if picked.good_after is not None:
        columns.append(Column("drawn for good balls"))
    rows = [
        (
            names[label],
            percent(share),
            *([percent(picked.good_after[label])] if picked.good_after else []),
        )
        for label, share in picked.good_before.items()
    ]
    if rows:
        yield Table(tuple(columns), tuple(rows))
    lines = [f"Nothing is gained: {picked.why}."] if picked.why else []
    if picked.after is not None:
        lines.append(
            "The most good balls of the worst weight that was found, not proven. Moulds on the "
            "rack stay those that are best for margins."
        )
    yield Notes(tuple(lines), "quiet")


def picked_data(picked: Picked) -> dict[str, Any]:
    """Return it as JSON types."""
    after = picked.good_after
    return {
        "for_margins": {k: number(share.value) for k, share in picked.good_before.items()},
        "picked": None if after is None else {k: number(s.value) for k, s in after.items()},
        "why_not": picked.why or None,
    }
