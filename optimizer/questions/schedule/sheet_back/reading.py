"""The rows of cells of a CSV file or a workbook (openpyxl, extra `sheets`), as displayed."""

from __future__ import annotations

import csv
import io
import re
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final, TypeAlias

from optimizer.paper.document import safe
from shared.errors import InputError, Problem

Row: TypeAlias = tuple[str, ...]
"""The cells of a row, without empty ones at its end."""
SEPARATORS: Final = (",", ";", "\t")
"""Separators of cells: a spreadsheet uses that of its country."""
COMMA: Final = re.compile(r"\A\s*([+-]?\d+),(\d+(?:E[+-]?\d+)?)\s*\Z", re.IGNORECASE)
"""A figure with a decimal comma, which goes with semicolons between cells."""


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
        content = path.read_bytes()
    except OSError as error:
        raise refused(path, f"can't be read ({error.strerror or error})") from error
    readings = (map(trimmed, rows) for rows in reader(content, path))
    return Sheet(path, tuple(tuple(row for row in rows if row or blank) for rows in readings))


def plain(text: str) -> str:
    """Return a text as all formats agree on it: single spaces, no guard against formulas."""
    return re.sub(r"\A'(?=[=+@-])", "", " ".join(safe(text).split()))


def refused(path: Path, what: str, instead: str | None = None) -> InputError:
    """Return the error for a file that is no sheet."""
    return InputError([Problem(what, instead=instead, file=str(path))])


def _csv(content: bytes, path: Path) -> Iterator[list[list[str]]]:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refused(path, "is not UTF-8", "save it as CSV UTF-8") from error
    text = re.sub(r"\Asep=.(?=\r?\n)", "", text)
    for separator in SEPARATORS:
        try:
            rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
        except csv.Error as error:
            raise refused(path, f"can't be read as CSV ({error})") from error
        if separator == ";":
            rows = [[COMMA.sub(r"\1.\2", cell) for cell in row] for row in rows]
        yield rows


def _xlsx(content: bytes, path: Path) -> Iterator[list[list[str]]]:
    if find_spec("openpyxl") is None:
        instead = 'pip install "samespin[sheets]"'
        raise refused(path, "reading a workbook needs openpyxl, which isn't here", instead)
    import openpyxl  # noqa: PLC0415 - an extra

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles that it doesn't know
            book = openpyxl.load_workbook(io.BytesIO(content), data_only=True)
            rows = [row for sheet in book.worksheets for row in sheet.iter_rows()]
    except Exception as error:  # whatever a broken file makes it raise
        raise refused(path, "can't be read as a workbook", "save it as .xlsx") from error
    yield [[_shown(cell.value, cell.number_format) for cell in row] for row in rows]


READERS: Final[Mapping[str, Callable[[bytes, Path], Iterator[list[list[str]]]]]] = {
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
