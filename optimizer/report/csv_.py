"""The writer for spreadsheets: RFC 4180, UTF-8 with the mark that lets a spreadsheet know it."""

from __future__ import annotations

import csv
import io

from optimizer.report.document import Chart, Heading, Notes, Paragraph, Report, Table


def encoded(report: Report) -> bytes:
    """Return the report's blocks as CSV, tables one below the other, an empty row between."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream)
    told = [block for block in report.blocks if not isinstance(block, Chart)]  # no use in cells
    for i, block in enumerate(told):
        if i > 0 and isinstance(block, Heading | Table):
            writer.writerow([])
        match block:
            case Heading(text) | Paragraph(text):
                writer.writerow([cell(text)])
            case Notes(lines):
                writer.writerows([cell(line)] for line in lines)
            case Table(columns, rows):
                writer.writerow([cell(column.header) for column in columns])
                writer.writerows([cell(text) for text in row] for row in rows)
    return stream.getvalue().encode("utf-8-sig")


def cell(text: str) -> str:
    """Return a cell that no spreadsheet reads as a formula; numbers, signed ones too, stay so."""
    text = text.strip()
    if text[:1] not in {"=", "+", "-", "@"}:
        return text
    try:
        float(text)
    except ValueError:
        return f"'{text}"
    return text
