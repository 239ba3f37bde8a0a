"""The rows of cells of a CSV file or a workbook (openpyxl, extra `sheets`), as displayed."""

from __future__ import annotations

import csv
import io
import re
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final, TypeAlias

from optimizer.paper.writers.csv_ import signed
from shared import untrusted
from shared.errors import FileError, InputError, Problem
from shared.letters import safe
from shared.untrusted import MB

Row: TypeAlias = tuple[str, ...]
"""The cells of a row, without empty ones at its end."""
SEPARATORS: Final = (",", ";", "\t")
"""Separators of cells: a spreadsheet uses that of its country."""
COMMA: Final = re.compile(r"\A\s*([+-]?\d+),(\d+(?:E[+-]?\d+)?)\s*\Z", re.IGNORECASE)
"""A figure with a decimal comma, which goes with semicolons between cells."""

MOST: Final = 5 * MB
"""The most bytes of a sheet, ten times a schedule of 12 weights and 12 parts..."""
EXPANDED: Final = 50 * MB
"""...and of all that a workbook has within..."""
CELLS, LETTERS = 100_000, 5_000_000
"""...and the most cells, empty ones and ends of rows among them, and letters in them."""


@dataclass(frozen=True)
class Sheet:
    """A file and its rows; for CSV, a reading with each separator."""

    path: Path
    readings: tuple[tuple[Row, ...], ...]


def read_sheet(path: Path, *, blank: bool = False) -> Sheet:
    """Return a sheet, with its `blank` rows or without. Raises InputError where it can't be read.

    With them, a row of a CSV file without line breaks in its cells stands at its line.
    """
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        raise refused(path, "the suffix says no format of a sheet", " or ".join(READERS))
    try:
        readings = [
            tuple(row for row in map(trimmed, _counted(rows)) if row or blank)
            for rows in reader(untrusted.content(path, MOST), path)
        ]
    except FileError as error:
        raise refused(path, error.what, error.instead) from error
    return Sheet(path, tuple(readings))


def _counted(rows: Iterable[Sequence[str]]) -> Iterator[Sequence[str]]:
    """Yield rows, no more than a sheet may have. Raises FileError."""
    cells = letters = 0
    for row in rows:
        cells += 1 + len(row)
        letters += sum(map(len, row))
        if cells > CELLS or letters > LETTERS:
            raise FileError(f"has more than {CELLS} cells, or {LETTERS} letters", "save less in it")
        yield row


def plain(text: str) -> str:
    """Return a text as all formats agree on it: single spaces, no guard against formulas."""
    text = " ".join(safe(" ".join(text.split())).split())
    return text[1:] if text[:1] == "'" and signed(text[1:]) else text


def refused(path: Path, what: str, instead: str | None = None) -> InputError:
    """Return the error for a file that is no sheet."""
    return InputError([Problem(what, instead=instead, file=str(path))])


def _csv(content: bytes, path: Path) -> Iterator[Iterable[Sequence[str]]]:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refused(path, "is not UTF-8", "save it as CSV UTF-8") from error
    text = re.sub(r"\Asep=.(?=\r?\n)", "", text)
    for separator in SEPARATORS:
        yield _parted(text, separator)


def _parted(text: str, separator: str) -> Iterator[Sequence[str]]:
    """Yield the rows of a CSV file whose cells a separator parts. Raises FileError."""
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
            yield [COMMA.sub(r"\1.\2", cell) for cell in row] if separator == ";" else row
    except csv.Error as error:
        raise FileError(f"can't be read as CSV ({error})", "save it as CSV UTF-8") from error


def _xlsx(content: bytes, path: Path) -> Iterator[Iterable[Sequence[str]]]:
    if find_spec("openpyxl") is None:
        instead = 'pip install "samespin[sheets]"'
        raise refused(path, "reading a workbook needs openpyxl, which isn't here", instead)
    yield _worksheets(content)


def _worksheets(content: bytes) -> Iterator[Sequence[str]]:
    """Yield the rows of all worksheets, one at a time as they are read. Raises FileError."""
    import openpyxl  # noqa: PLC0415 - an extra

    files = untrusted.unzipped(content, EXPANDED)
    if sum(held.count(b"<") for held in files.values()) > 4 * CELLS:
        raise FileError(f"has more than {CELLS} cells", "save less in it")
    book = io.BytesIO(untrusted.zipped(files))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles that it doesn't know
            for sheet in openpyxl.load_workbook(book, read_only=True, data_only=True).worksheets:
                sheet.reset_dimensions()  # they may be wrong
                for row in sheet.iter_rows():
                    yield [_shown(cell.value, cell.number_format) for cell in row]
    except Exception as error:  # whatever a broken file makes it raise
        raise FileError("can't be read as a workbook", "save it as .xlsx") from error


READERS: Final[Mapping[str, Callable[[bytes, Path], Iterator[Iterable[Sequence[str]]]]]] = {
    ".csv": _csv,
    ".xlsx": _xlsx,
}
"""File name suffix → what reads it."""


def _shown(value: Any, number_format: str) -> str:
    """Return a cell of a workbook as displayed: a number with the digits of its format."""
    if value is None:
        return ""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    digits = re.search(r"0+(?:\.(0+))?", number_format.partition(";")[0])
    if digits is None or "%" in number_format or "E" in number_format:
        return repr(value)
    return f"{value:.{len(digits[1] or '')}f}"


def trimmed(row: Iterable[str]) -> Row:
    """Return a row as all formats agree on it: without the empty cells at its end."""
    cells = [plain(cell) for cell in row]
    while cells and not cells[-1]:
        cells.pop()
    return tuple(cells)
