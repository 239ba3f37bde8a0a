from __future__ import annotations

import csv
import io

import pytest

from optimizer.report import csv_
from optimizer.report.document import Column, Heading, Report, Table, left


def rows(*cells: str) -> list[list[str]]:
    table = Table(tuple(left(f"c{k}") for k in range(len(cells))), (cells,))
    text = csv_.encoded(Report((Heading("t"), table), {})).decode("utf-8-sig")
    return list(csv.reader(io.StringIO(text, newline="")))


def test_a_spreadsheet_is_told_that_it_is_utf8() -> None:
    table = Table((Column("density, g/cm³"),), (("1.1",),))
    assert csv_.encoded(Report((table,), {})) == b'\xef\xbb\xbf"density, g/cm\xc2\xb3"\r\n1.1\r\n'


def test_commas_quotes_and_line_breaks_come_back_as_they_were() -> None:
    assert rows('a, "b"\nc', "2")[-1] == ['a, "b"\nc', "2"]


@pytest.mark.parametrize("cell", ["=1+1", "+cmd|' /C calc'!A0", "@SUM(A1)", "-2+3"])
def test_a_name_is_never_read_as_a_formula(cell: str) -> None:
    assert rows(cell)[-1] == [f"'{cell}"]


@pytest.mark.parametrize("cell", ["-0.0012", "+0.0003", "-5", "1.5"])
def test_signed_numbers_stay_numbers(cell: str) -> None:
    assert rows(cell)[-1] == [cell]
