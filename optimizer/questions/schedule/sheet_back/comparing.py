"""A sheet that went out, compared with the document that would be written now.

Rows are aligned; then every cell must read as it should: figures by value, words exactly. Blanks
may be filled in.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from itertools import zip_longest
from typing import Final

from optimizer.paper.document import BLANK, NUMBER, Report
from optimizer.paper.writers.lines import Line, lines
from optimizer.questions.schedule.alignment import side_by_side
from optimizer.questions.schedule.identity import Other, joined, others, pattern
from optimizer.questions.schedule.sheet_back.reading import Row, Sheet, refused, trimmed

READ: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(E[+-]?\d{1,2})?", re.IGNORECASE)
"""A figure as a spreadsheet may write it again."""
KIN: Final = 0.5
"""The share of the document's rows that a sheet of its kind has, at least."""
SAME, NAMED, ALIKE = 10.0, 3.0, 0.5
"""Likeness of rows that read the same; that share a name; that share a cell, or are words."""


@dataclass(frozen=True)
class Difference:
    """A cell or row that reads differently, and its place.

    `page` is the page's name, or the heading above; `row` its first cell, "" for a line of words;
    `column` the header, "" for a whole row. `should` is None for a row that is not in the document,
    `reads` for one that is not in the sheet.
    """

    page: str
    row: str
    column: str
    should: str | None
    reads: str | None

    def __str__(self) -> str:
        """Return it in words."""
        row = f'"{self.row}"' if self.row else ""
        place = ", ".join(filter(None, (self.page, row))) or "at the top"
        if self.should is None:
            return f"{place}: a row is added, {_quoted(self.reads or '')}"
        if self.reads is None:
            row = f" ({_quoted(self.should)})" if self.should else ""
            return f"{place}: {self.column or 'the row'} is missing{row}"
        what = self.column or "the line"
        return f"{place}: {what} reads {_quoted(self.reads)}, should read {_quoted(self.should)}"


@dataclass(frozen=True)
class Compared:
    """The outcome of comparing so many rows; `others` identifies the sheet's own scenario."""

    rows: int
    others: tuple[Other, ...]
    differences: tuple[Difference, ...]

    @property
    def agrees(self) -> bool:
        """Whether the sheet is what would be written now."""
        return not self.others and not self.differences


@dataclass(frozen=True)
class _Written:
    """A row of the document, its cells as they come back, and the heading above it.

    `group` is the start of the heading among its table's rows, "" where there is none. `mark`
    matches the row in a sheet of another scenario, where it identifies the scenario.
    """

    line: Line
    cells: Row
    heading: str
    group: str
    mark: re.Pattern[str] | None

    @cached_property
    def common(self) -> frozenset[str]:
        """The cells that another row may share."""
        return frozenset(filter(None, self.cells))

    @property
    def page(self) -> str:
        return self.line.page or self.heading

    @property
    def name(self) -> str:
        if self.line.kind not in {"row", "group"}:
            return ""
        return f"{self.group}, {self.cells[0]}" if self.group else self.cells[0]

    def column(self, k: int) -> str:
        """Return the header over cell `k`, "" for a line of words."""
        columns = self.line.columns
        return (columns[k].header if k < len(columns) else f"cell {k + 1}") if columns else ""

    def marks(self, row: Row) -> re.Match[str] | None:
        """Return the match of a row that reads the same, for whatever scenario."""
        return None if self.mark is None else self.mark.fullmatch(joined(row))

    def unlike(self, row: Row) -> Iterator[Difference]:
        """Yield the cells of a row that read differently."""
        for k, (should, reads) in enumerate(zip_longest(self.cells, row, fillvalue="")):
            if not self._fits(k, should, reads):
                yield Difference(self.page, self.name, self.column(k), should, reads)

    def likeness(self, row: Row) -> float:
        """Return the likeness of a sheet's row to this one, 0 if it can't be the same."""
        if self.mark is not None and self.marks(row):
            return SAME
        if row[0] == self.cells[0] or self._fits(0, self.cells[0], row[0]):
            if not any(self.unlike(row)):
                return SAME
            return NAMED if len(self.cells) > 1 else ALIKE
        if len(self.cells) == 1 or len(row) == 1:
            return ALIKE if len(self.cells) == len(row) else 0.0
        return 0.0 if self.common.isdisjoint(row) else ALIKE

    def _fits(self, k: int, should: str, reads: str) -> bool:
        """Whether cell `k` reads as it should."""
        if should == reads:
            return True
        if BLANK.search(should):
            words = (re.escape(part.strip()) for part in BLANK.split(should))
            return re.fullmatch(".*".join(words), reads) is not None
        columns = self.line.columns
        if self.line.kind != "row" or k >= len(columns) or columns[k].align != "right":
            return False
        figures = NUMBER.fullmatch(should) and READ.fullmatch(reads)
        return bool(figures) and Decimal(should) == Decimal(reads)


def compared(sheet: Sheet, report: Report) -> Compared:
    """Return how `sheet` differs from `report`. Raises InputError for another kind of sheet."""
    scenario, document = report.data["scenario"], list(_document(report))
    rows = max(sheet.readings, key=lambda rows: _kin(document, rows))
    titled = any(written.marks(row) for written in document if written.mark for row in rows)
    if not titled and _kin(document, rows) < KIN:
        raise refused(sheet.path, "is no sheet of this line-up", "name one that was written for it")
    pairs = side_by_side(
        len(document), len(rows), lambda i, j: document[i].likeness(rows[j]), same=SAME
    )
    marks = filter(None, (document[i].marks(rows[j]) for i, j in pairs))
    foreign = others(scenario, (mark.groupdict() for mark in marks))
    differences = _differences(document, rows, dict(pairs))
    return Compared(len(document), tuple(foreign), tuple(differences))


def _document(report: Report) -> Iterator[_Written]:
    """Yield the rows of a document that have cells."""
    heading = group = ""
    for line in lines(report.blocks):
        if cells := trimmed(line.cells):
            heading = cells[0] if line.kind == "heading" else heading
            group = group if line.kind == "row" else ""
            mark = pattern(report.data["scenario"], cells)
            yield _Written(line, cells, heading, group, mark)
            group = cells[0].partition(":")[0] if line.kind == "group" else group


def _kin(document: Sequence[_Written], rows: Sequence[Row]) -> float:
    """Return the share of the document's rows whose first cell is in a sheet."""
    there = {row[0] for row in rows}
    return sum(written.cells[0] in there for written in document) / max(len(document), 1)


def _differences(
    document: Sequence[_Written], rows: Sequence[Row], pairs: dict[int, int]
) -> Iterator[Difference]:
    """Yield what differs, from top to bottom; a page that is missing whole only once."""
    gone = {each.line.page for each in document} - {document[i].line.page for i in pairs} - {""}
    page, listed, seen = "", set[str](), 0
    for i, written in enumerate(document):
        if i in pairs:
            yield from _added(page, rows[seen : pairs[i]])
            seen = pairs[i] + 1
            if not written.marks(rows[pairs[i]]):
                yield from written.unlike(rows[pairs[i]])
        elif written.line.page not in gone:
            row = written.name or written.cells[0]
            yield Difference(written.page, row, "", ", ".join(written.cells), None)
        elif written.line.page not in listed:
            listed.add(written.line.page)
            yield Difference(written.page, "", "the page", "", None)
        page = written.page
    yield from _added(page, rows[seen:])


def _added(page: str, rows: Sequence[Row]) -> Iterator[Difference]:
    return (Difference(page, "", "", None, ", ".join(row)) for row in rows)


def _quoted(text: str) -> str:
    """Return a cell as quoted in a line."""
    return "nothing" if not text else text if NUMBER.fullmatch(text) else f'"{text}"'
