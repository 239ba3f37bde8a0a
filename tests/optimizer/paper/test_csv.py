from __future__ import annotations

import csv
import io

import pytest

from optimizer.paper.document import Column, Heading, Page, Paragraph, Report, Table, left
from optimizer.paper.writers import csv_


def rows(*cells: str) -> list[list[str]]:
    table = Table(tuple(left(f"c{k}") for k in range(len(cells))), (cells,))
    text = csv_.encoded(Report((Heading("t"), table), {})).decode()
    return list(csv.reader(io.StringIO(text, newline="")))


def test_it_is_plain_utf8_without_a_mark() -> None:
    table = Table((Column("density, g/cm³"),), (("1.1",),))
    assert csv_.encoded(Report((table,), {})) == b'"density, g/cm\xc2\xb3"\r\n1.1\r\n'


def test_a_new_page_is_an_empty_row() -> None:
    blocks = (Page("one"), Heading("a"), Page("two"), Heading("b"), Page("three"), Paragraph("c"))
    assert csv_.encoded(Report(blocks, {})) == b"a\r\n\r\nb\r\n\r\nc\r\n"


def test_commas_quotes_and_line_breaks_come_back_as_they_were() -> None:
    assert rows('a, "b"\nc', "2")[-1] == ['a, "b"\nc', "2"]


@pytest.mark.parametrize("cell", ["=1+1", "+cmd|' /C calc'!A0", "@SUM(A1)", "-2+3"])
def test_a_name_is_never_read_as_a_formula(cell: str) -> None:
    assert rows(cell)[-1] == [f"'{cell}"]


@pytest.mark.parametrize("cell", ["-0.0012", "+0.0003", "-5", "1.5"])
def test_signed_numbers_stay_numbers(cell: str) -> None:
    assert rows(cell)[-1] == [cell]
