"""The writer for workbooks: XLSX (xlsxwriter, extra `sheets`), one worksheet for each page.

Figures are numbers formatted with the document's digits; all else is text, never a formula. The
same document gives the same bytes: no clock.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator, Sequence
from datetime import datetime
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any, Final

from optimizer.paper.document import BLANK, NUMBER, Heading, Page, Report
from optimizer.paper.writers.lines import Kind, Line, pages
from shared.errors import InputError, Problem
from shared.letters import safe

if TYPE_CHECKING:
    from xlsxwriter import Workbook
    from xlsxwriter.format import Format
    from xlsxwriter.worksheet import Worksheet

DATE: Final = datetime(2000, 1, 1)
"""The date of every workbook, so that its bytes don't depend on the day."""
FONT: Final = {"font_name": "Arial", "font_size": 10, "valign": "vcenter"}
LOOK: Final[dict[Kind, dict[str, Any]]] = {
    "heading": {"bold": True, "font_size": 13, "text_wrap": True},
    "prose": {"text_wrap": True},
    "header": {"bold": True, "bottom": 1, "text_wrap": True, "valign": "bottom"},
    "group": {"bold": True},
    "row": {"bottom": 7, "text_wrap": True},
}
LINE: Final = 15.0
"""The height of a line of text, points."""
WIDEST: Final = 32
"""The greatest width of a column, letters: longer cells wrap."""
PROSE: Final = 90
"""Where prose wraps on a page without tables, letters."""
FOOT: Final = 110
"""The most letters of a foot: with its codes a workbook holds 255, each & counting twice."""
PORTRAIT: Final = 130
"""A page wider than this, letters, is in landscape."""
PAPER: Final = ((509.0, 691.0), (705.0, 494.0))
"""The printable width and height in portrait and in landscape, points: the smaller of A4 and US
Letter, within the margins."""


def required() -> None:
    """Raise InputError if xlsxwriter is not installed."""
    if find_spec("xlsxwriter") is None:
        what = "a workbook needs xlsxwriter, which isn't installed"
        instead = 'pip install "samespin[sheets]", or write .csv or .html'
        raise InputError([Problem(what, instead=instead)])


def encoded(report: Report) -> bytes:
    """Return the report's blocks as a workbook. Raises InputError without xlsxwriter."""
    required()
    import xlsxwriter  # noqa: PLC0415 - an extra

    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True})
    book.set_properties({"created": DATE})
    sheets = list(pages(report.blocks)) or [("", [])]
    title = next((block.text for block in report.blocks if isinstance(block, Heading)), "samespin")
    known = {block.name: block for block in report.blocks if isinstance(block, Page)}
    for name, (page, lines) in zip(_names([name for name, _ in sheets]), sheets, strict=True):
        foot = known.get(page, Page("")).under(title)
        _Sheet(book, book.add_worksheet(name), lines, foot).write()
    book.close()
    return stream.getvalue()


class _Sheet:
    """One worksheet being written."""

    def __init__(self, book: Workbook, sheet: Worksheet, lines: Sequence[Line], foot: str) -> None:
        self.book, self.sheet, self.lines, self.foot = book, sheet, lines, foot
        self.widths, self.heights = _widths(lines), [LINE] * len(lines)
        self.formats: dict[tuple[tuple[str, Any], ...], Format] = {}

    def write(self) -> None:
        """Write every line, and the print settings."""
        for k, width in enumerate(self.widths):
            self.sheet.set_column(k, k, width)
        for i, line in enumerate(self.lines):
            if line.kind in {"heading", "prose", "group"}:
                self._across(i, line)
            else:
                for k, text in enumerate(line.cells):
                    self._cell(i, k, text, line)
            self._heighten(i, line)
        self._print()

    def _across(self, i: int, line: Line) -> None:
        """Write a cell across all columns."""
        (text,), last = line.cells, len(self.widths) - 1
        style = self._format(LOOK[line.kind])
        if last > 0:
            self.sheet.merge_range(i, 0, i, last, "", style)
        _checked(self.sheet.write_string(i, 0, safe(text), style), text)

    def _cell(self, i: int, k: int, text: str, line: Line) -> None:
        align = line.columns[k].align
        look = LOOK[line.kind] | {"align": align}
        if line.kind == "row" and align == "right" and NUMBER.fullmatch(text):
            style = self._format(look | {"num_format": number_format(text)})
            self.sheet.write_number(i, k, float(text), style)
        elif not text:
            self.sheet.write_blank(i, k, None, self._format(look))
        else:
            _checked(self.sheet.write_string(i, k, safe(text), self._format(look)), text)

    def _format(self, look: dict[str, Any]) -> Format:
        key = tuple(sorted(look.items()))
        if key not in self.formats:
            self.formats[key] = self.book.add_format(FONT | look)
        return self.formats[key]

    def _heighten(self, i: int, line: Line) -> None:
        """Fit a row's height to its text, which spreadsheets don't do for merged cells."""
        high = 1.0
        if line.kind in {"header", "row"}:
            high = max(_wrapped(t, self.widths[k] - 1) for k, t in enumerate(line.cells))
            if any(map(BLANK.fullmatch, line.cells)):
                high = max(high, 1.4)  # room for a pen
        elif line.kind != "gap":
            size = 1.3 if line.kind == "heading" else 1.0
            high = size * _wrapped(line.cells[0], sum(self.widths) / size - 1)
        if high > 1.0:
            self.heights[i] = LINE * high
            self.sheet.set_row(i, self.heights[i])

    def _print(self) -> None:
        """Set up printing: one page wide, numbered, with the header repeated on each page."""
        sheet, wide = self.sheet, len(self.widths) - 1
        sheet.fit_to_pages(1, 0)
        sheet.set_margins(left=0.6, right=0.6, top=0.6, bottom=0.8)
        sheet.set_footer(f"&L{safe(self.foot)[:FOOT].replace('&', '&&')}&R&P / &N")
        if sum(self.widths) > PORTRAIT:
            sheet.set_landscape()
        if not self.lines:
            return
        sheet.print_area(0, 0, len(self.lines) - 1, wide)
        again: tuple[int, ...] = ()
        headers = [i for i, line in enumerate(self.lines) if line.kind == "header"]
        if len(headers) == 1 and headers[0] < 8:
            sheet.freeze_panes(headers[0] + 1, 1)
            again = (headers[0],)
        elif self.lines[0].kind == "heading":
            again = (0,)
        for row in again:
            sheet.repeat_rows(row)
        sheet.set_h_pagebreaks(list(self._breaks(sum(self.heights[row] for row in again))))

    def _breaks(self, again: float) -> Iterator[int]:
        """Yield the rows that begin a page; `again` is the height repeated on each page, points."""
        wide, high = PAPER[sum(self.widths) > PORTRAIT]
        room = high * max(1.0, sum(map(_points, self.widths)) / wide)
        used = 0.0
        for piece in _pieces(self.lines):
            height = sum(self.heights[i] for i in piece)
            if used + height > room:
                if used > again and again + height <= room:
                    yield piece[0]
                used = again
            used = (used + height) % room


def _pieces(page: Sequence[Line]) -> Iterator[list[int]]:
    """Yield the runs of rows to keep on one page: those under a heading, and a header's first."""
    piece: list[int] = []
    for i, line in enumerate(page):
        led = line.kind == "row" and any(page[j].kind == "group" for j in piece)
        if piece and not led and page[i - 1].kind not in {"heading", "header"}:
            yield piece
            piece = []
        piece.append(i)
    yield piece


def _points(letters: float) -> float:
    """Return the width of a column of `letters`, points: 7 pixels each plus 5, at 96 dpi."""
    return 0.75 * (7 * letters + 5)


def number_format(text: str) -> str:
    """Return the format that shows the number `text` with its digits and sign."""
    _, _, decimals = text.partition(".")
    digits = f"0.{'0' * len(decimals)}" if decimals else "0"
    if text.startswith("+"):
        return f"+{digits};-{digits};+{digits}"
    if text.startswith("-") and float(text) == 0.0:
        return f"{digits};-{digits};-{digits}"
    return digits


def _widths(lines: Sequence[Line]) -> list[float]:
    """Return the widths of the columns, letters; of a single one if there is no table."""
    widths: list[float] = []
    for line in lines:
        if line.kind not in {"header", "row"}:
            continue
        for k, text in enumerate(line.cells):
            words = text.split() if line.kind == "header" else [text]
            need = 1.05 * max(map(len, words), default=0) + 1.5
            if k == len(widths):
                widths.append(6)
            widths[k] = min(max(widths[k], need), WIDEST)
    return widths or [PROSE]


def _wrapped(text: str, width: float) -> int:
    """Return how many lines of `width` letters a text takes, rounded up generously."""
    return max(1, math.ceil(1.1 * len(text) / width)) if len(text) > width else 1


def _names(pages_: Sequence[str]) -> Iterator[str]:
    """Yield the name of each worksheet, without characters that it can't have."""
    taken = {"history"}
    for n, page in enumerate(pages_, start=1):
        plain = re.sub(r"[\[\]:*?/\\]", " ", safe(page)).strip("' ")[:31].strip("' ")
        wanted = plain or f"page {n}"
        name, k = wanted, 1
        while name.lower() in taken:
            k += 1
            name = f"{wanted[: 30 - len(str(k))]} {k}"
        taken.add(name.lower())
        yield name


def _checked(code: int, text: str) -> None:
    """Raise InputError if a cell was cut."""
    if code != 0:
        what, instead = "a cell is too long for a workbook", "write .csv or .html"
        raise InputError([Problem(what, f"{text[:20]}…, {len(text)} letters", instead)])
