"""The writer for spreadsheets and scripts: RFC 4180, UTF-8."""

from __future__ import annotations

import csv
import io
import unicodedata
from typing import Final

from optimizer.paper.document import Report
from optimizer.paper.writers.lines import lines
from shared.letters import safe

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
    """Return a cell that no spreadsheet reads as a formula; numbers, even signed, stay numbers.

    Of control characters only line breaks are left.

    >>> cell("=1+1"), cell("＝1+1"), cell("-0.5")
    ("'=1+1", "'＝1+1", '-0.5')
    """
    text = "\n".join(map(safe, text.strip().split("\n")))
    if not signed(text):
        return text
    try:
        float(text)
    except ValueError:
        return f"'{text}"
    return text


def signed(text: str) -> bool:
    """Whether a text begins with a sign that may make it a formula, in its wide form, too."""
    return unicodedata.normalize("NFKC", text[:1])[:1] in {"=", "+", "-", "@"}
