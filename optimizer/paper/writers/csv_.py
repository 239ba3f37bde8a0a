"""The writer for spreadsheets and scripts: RFC 4180, UTF-8."""

from __future__ import annotations

import csv
import io
from typing import Final

from optimizer.paper.document import Report
from optimizer.paper.writers.lines import lines

MARK: Final = b"\xef\xbb\xbf"
"""Before the first row it marks UTF-8 for a spreadsheet; other readers take it for a letter."""


def encoded(report: Report) -> bytes:
    """Return the report's blocks as CSV, tables below each other, with an empty row between."""
    stream = io.StringIO(newline="")
    csv.writer(stream).writerows(
        [cell(text) for text in line.cells] for line in lines(report.blocks)
    )
    return stream.getvalue().encode()


def cell(text: str) -> str:
    """Return a cell that no spreadsheet reads as a formula; numbers, even signed, stay numbers."""
    text = text.strip()
    if text[:1] not in {"=", "+", "-", "@"}:
        return text
    try:
        float(text)
    except ValueError:
        return f"'{text}"
    return text
