"""The page of what is gained where castings are weighed before the next pour."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from optimizer.paper.document import Block, Column, Heading, Notes, Paragraph, Table
from optimizer.paper.words import listed
from optimizer.questions.line_up.data import number
from optimizer.questions.tolerance.weighing import RULE, Outcome, Weighing
from optimizer.questions.tolerance.words import percent


def weighing_blocks(found: Weighing, names: Mapping[str, str]) -> tuple[Block, ...]:
    """Return the shares of good balls with and without weighing."""
    return tuple(_blocks(found, names))


def _blocks(found: Weighing, names: Mapping[str, str]) -> Iterator[Block]:
    yield Heading("What the shop gains by weighing each casting")
    if not found.only:
        yield Paragraph("Nothing: no casting varies that is poured before another.")
        return
    ways = {"poured as scheduled": found.open, "each casting weighed": found.closed}
    if found.stepped is not None:
        ways["each weighed, set-points on steps"] = found.stepped
    ways |= {f"only the {part} weighed": outcome for part, outcome in found.only.items()}
    columns = (
        Column("", "left"),
        *(Column(f"good, {names[label]}") for label in found.open.good),
        *([Column("good lines")] if len(found.open.good) > 1 else []),
    )
    rows = [
        (
            words,
            *(percent(share) for share in outcome.good.values()),
            *([percent(outcome.line)] if len(found.open.good) > 1 else []),
        )
        for words, outcome in ways.items()
    ]
    yield Table(columns, tuple(rows))
    yield Paragraph(
        f"Most worth weighing: the {found.most_worth}."
        if found.most_worth
        else "No casting is worth weighing by itself."
    )
    lines = [RULE]
    lines += [
        f"The set-points of {part} move together at {listed([names[label] for label in labels])}."
        for part, labels in found.together
    ]
    yield Notes(tuple(lines), "quiet")


def weighing_data(found: Weighing) -> dict[str, Any]:
    """Return it as JSON types."""
    return {
        "rule": RULE,
        "open": _outcome(found.open),
        "closed": _outcome(found.closed),
        "closed_on_steps": None if found.stepped is None else _outcome(found.stepped),
        "only": {part: _outcome(outcome) for part, outcome in found.only.items()},
        "most_worth": found.most_worth,
    }


def _outcome(outcome: Outcome) -> dict[str, Any]:
    return {
        "good_share": {label: number(share.value) for label, share in outcome.good.items()},
        "line_good_share": number(outcome.line.value),
    }
