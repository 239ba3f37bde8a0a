"""Rows of cells, such as a sheet or a file of measurements holds."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from random import Random
from typing import Any

import openpyxl
from fuzz import values


def rows() -> list[list[Any]]:
    """Return rows of measurements of the small scenario."""
    rows: list[list[Any]] = [["ball", "label", "measurement", "of", "value", "unit"]]
    for ball, label, casting, weight in (("1", "15", 1168.2, 15.094), ("2", "14", 1111.3, 14.108)):
        rows += [
            [ball, label, "casting", "block", casting, "g"],
            [ball, label, "weight", "", weight, "lb"],
            [ball, label, "low rg", "", 2.6203, "in"],
            [ball, label, "top weight", "", 1.28, "oz"],
        ]
    return rows


def edited(random: Random, rows: Sequence[Sequence[Any]]) -> list[list[Any]]:
    """Return rows with cells or rows changed."""
    rows = [list(row) for row in rows]
    for _ in range(random.choice((1, 1, 2, 3))):
        at, to = random.randrange(len(rows)), random.randrange(len(rows))
        match random.randrange(8):
            case 0:
                rows.insert(to, list(rows[at]))
            case 1 if len(rows) > 2:
                del rows[at]
            case 2:
                rows[at].insert(random.randint(0, len(rows[at])), random.choice(values.STRINGS))
            case 3 if rows[at]:
                del rows[at][random.randrange(len(rows[at]))]
            case _ if rows[at]:
                cell = random.randrange(len(rows[at]))
                rows[at][cell] = _cell(random, rows[at][cell])
    return rows


def _cell(random: Random, cell: Any) -> Any:
    try:
        value = values.number(random, float(cell))
    except ValueError:
        return values.text(random, str(cell))
    return value if random.random() < 0.8 else f"{cell} {random.choice(('g', 'lb', '%', '±', ','))}"


def parsed(content: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"))))


def written(rows: Sequence[Sequence[Any]], separator: str) -> bytes:
    stream = io.StringIO()
    csv.writer(stream, delimiter=separator).writerows(rows)
    return stream.getvalue().encode("utf-8", "surrogatepass")


def workbook(rows: list[list[Any]]) -> bytes:
    """Return rows as a workbook."""
    book, stream = openpyxl.Workbook(), io.BytesIO()
    for row in rows:
        book.active.append(row)
    book.save(stream)
    return stream.getvalue()
