"""A document as rows of cells, for CSV and workbooks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Literal, TypeAlias

from optimizer.paper.document import Block, Column, Heading, Notes, Page, Paragraph, Table

Kind: TypeAlias = Literal["gap", "heading", "prose", "header", "group", "row"]
"""A group is a heading among a table's rows; a gap has no cells."""


@dataclass(frozen=True)
class Line:
    """One row of cells: its kind, its page's name (or ""), and the columns of its table, if any."""

    kind: Kind
    cells: tuple[str, ...]
    page: str
    columns: tuple[Column, ...] = ()


def lines(blocks: Sequence[Block]) -> Iterator[Line]:
    """Yield the rows of a document, with gaps before headings, tables and pages, and after tables.

    Charts and blocks for browsers are left out: they are of no use in cells.
    """
    page, parted, in_table = "", True, False
    for block in blocks:
        if isinstance(block, Page):
            if not parted:
                yield Line("gap", (), page)
            page, parted = block.name, True
            continue
        for line in _of(block, page):
            ends = in_table and line.kind == "prose"
            if not parted and (ends or line.kind in {"heading", "header"}):
                yield Line("gap", (), page)
            yield line
            parted, in_table = False, bool(line.columns)


def pages(blocks: Sequence[Block]) -> Iterator[tuple[str, list[Line]]]:
    """Yield the name of each page that has rows, and its rows without a gap at their end."""
    for name, group in groupby(lines(blocks), key=lambda line: line.page):
        page = list(group)
        yield name, page[:-1] if page[-1].kind == "gap" else page


def _of(block: Block, page: str) -> Iterator[Line]:
    match block:
        case Heading(text):
            yield Line("heading", (text,), page)
        case Paragraph(text):
            yield Line("prose", (text,), page)
        case Notes(texts):
            yield from (Line("prose", (text,), page) for text in texts)
        case Table(columns, rows):
            yield Line("header", tuple(column.header for column in columns), page, columns)
            for row in rows:
                alone = len(row) < len(columns)
                yield Line("group" if alone else "row", row, page, columns)
        case _:
            return
