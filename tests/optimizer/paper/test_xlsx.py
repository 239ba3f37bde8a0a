"""The workbook as another library reads it."""

from __future__ import annotations

import io
import sys
from zipfile import ZipFile

import openpyxl
import pytest
from documents import FIGURES, sheet, table, wide

from optimizer.paper.document import Heading, Page, Paragraph, Report, Table, left
from optimizer.paper.writers import xlsx_
from optimizer.paper.writers.lines import Line, lines, pages
from shared.errors import InputError


def book(report: Report):
    return openpyxl.load_workbook(io.BytesIO(xlsx_.encoded(report)))


def cells(sheet_) -> list[list[object]]:
    """The values of each row that has any, up to its last."""
    rows = [[cell.value for cell in row] for row in sheet_.iter_rows()]
    for row in rows:
        while row and row[-1] is None:
            row.pop()
    return [row for row in rows if row]


def shown(value: float, number_format: str) -> str:
    """What a spreadsheet shows of a number, by the rules of its three sections."""
    sections = number_format.split(";")
    section = sections[0]
    if len(sections) == 3:
        section = sections[2] if value == 0 else sections[1] if value < 0 else sections[0]
        value = abs(value)
    sign, digits = ("", section) if section[0] == "0" else (section[0], section[1:])
    return f"{sign}{value:.{len(digits.partition('.')[2])}f}"


def test_figures_are_numbers_that_show_the_same_digits():
    (page,) = book(table(FIGURES)).worksheets
    for row, text in enumerate(FIGURES[:6], start=2):
        cell = page.cell(row, 1)
        assert cell.data_type == "n"
        assert cell.value == float(text)
        assert shown(cell.value, cell.number_format) == text
    assert page.cell(8, 1).value == "-"
    assert page.cell(9, 1).value is None


def test_a_worksheet_a_page_with_every_cell_in_its_place():
    report = sheet("16", "15")
    wanted = list(pages(report.blocks))
    found = book(report)
    assert found.sheetnames == ["page 1", "weight class 16 lb", "weight class 15 lb", "notes"]
    for (_, page), worksheet in zip(wanted, found.worksheets, strict=True):
        texts = [list(line.cells) for line in page if line.cells]
        told = cells(worksheet)
        assert len(told) == len(texts)
        for values, row in zip(told, texts, strict=True):
            for value, text in zip(values, row, strict=False):
                assert value == (text if isinstance(value, str | None) else float(text))
            assert not any(row[len(values) :])


def test_what_looks_like_a_formula_or_a_link_is_text():
    texts = ("=1+1", "{=A1}", "+x", "@SUM(A1)", "mailto:x@example.org", "https://example.org", "1")
    blocks = (Table((left("a"), left("b")), tuple((text, "") for text in texts)),)
    (page,) = book(Report((*blocks, *(Paragraph(text) for text in texts)), {})).worksheets
    told = [row[0] for row in cells(page)][1:]
    assert told == [*texts, *texts]
    assert all(cell.data_type in "sn" for row in page.iter_rows() for cell in row)
    assert not [cell for row in page.iter_rows() for cell in row if cell.hyperlink]


def test_worksheets_have_names_that_can_be():
    names = ["a/b", "A/B", "History", "x" * 40, "x" * 40, "'", "a\x07"]
    blocks = [block for name in names for block in (Page(name), Paragraph("text"), Page("-"))]
    found = book(Report(tuple(b for b in blocks if b != Page("-")), {})).sheetnames
    assert len({name.lower() for name in found}) == len(found)
    assert found[:4] == ["a b", "A B 2", "History 2", "x" * 31]
    assert max(map(len, found)) == 31


def test_a_page_prints_one_page_wide_with_its_header_on_every_page():
    blocks = (Heading("Long"), wide(5, 200), Page("wide"), wide(30, 2))
    long, broad = book(Report(blocks, {})).worksheets
    assert (long.page_setup.fitToWidth or 1, long.page_setup.fitToHeight) == (1, 0)
    assert long.sheet_properties.pageSetUpPr.fitToPage
    assert long.print_title_rows == "$3:$3"
    assert long.freeze_panes == "B4"
    assert long.print_area == "'Long'!$A$1:$F$203".replace("Long", long.title)
    assert long.page_setup.orientation == "portrait"
    assert broad.page_setup.orientation == "landscape"


def test_a_foot_says_whose_the_sheet_is():
    blocks = (Heading("Ash & Co"), Page("15", "weight class 15 lb"), Paragraph("x" * 9))
    first, second = book(Report(blocks, {})).worksheets
    assert first.oddFooter.left.text == "Ash && Co"
    assert second.oddFooter.left.text == "Ash && Co · weight class 15 lb"
    long = (Heading("&" * 300), Paragraph("x"))
    assert len(book(Report(long, {})).worksheets[0].oddFooter.left.text) == 220


def test_the_same_document_is_the_same_bytes_and_tells_no_time():
    first = xlsx_.encoded(sheet("16"))
    assert xlsx_.encoded(sheet("16")) == first
    with ZipFile(io.BytesIO(first)) as file:
        assert {one.date_time for one in file.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert b"2000-01-01T00:00:00Z" in file.read("docProps/core.xml")


def test_a_cell_that_would_be_cut_is_refused():
    with pytest.raises(InputError, match=r"too long for a workbook .*40000 letters"):
        xlsx_.encoded(Report((Paragraph("x" * 40000),), {}))


def test_a_document_of_nothing_is_an_empty_worksheet():
    assert cells(book(Report((), {})).worksheets[0]) == []


def test_without_xlsxwriter_one_line_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "xlsxwriter", None)
    with pytest.raises(InputError, match=r'pip install "samespin\[sheets\]"'):
        xlsx_.required()


def test_pages_part_rows_and_no_gap_ends_one():
    report = Report((Page("a"), Heading("x"), wide(1, 1), Page("b"), Page("c"), Heading("y")), {})
    assert [name for name, _ in pages(report.blocks)] == ["a", "c"]
    assert all(page[-1].kind != "gap" for _, page in pages(report.blocks))
    assert [line.kind for line in lines(report.blocks)] == [
        "heading", "gap", "header", "row", "gap", "heading",
    ]  # fmt: skip


def test_a_page_parts_no_group_not_even_the_first_below_its_header() -> None:
    kinds = ["heading", "prose", "gap", "header", "group", "row", "row", "group", "row", "prose"]
    page = [Line(kind, ("x",), "") for kind in kinds]
    assert list(xlsx_._pieces(page)) == [[0, 1], [2], [3, 4, 5, 6], [7, 8], [9]]
