"""Sheets that were typed into, by hand or by a spreadsheet, as CSV and as a workbook."""

from __future__ import annotations

import csv
import io
import sys
import zipfile

import openpyxl
import pytest
from documents import BLANK, SHA, sheet, wide

from optimizer.paper.document import Heading, Report, Table, left
from optimizer.paper.writers import csv_
from optimizer.paper.writers.formats import written
from optimizer.questions.schedule.sheet_back.comparing import compared
from optimizer.questions.schedule.sheet_back.reading import read_sheet
from shared.errors import InputError

LABELS = ("16", "15")
SUFFIXES = (".csv", ".xlsx")


def zipped(name: str) -> bytes:
    """An archive that is no workbook."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(zipfile.ZipInfo(name), "")
    return out.getvalue()


class Typed:
    """A sheet that went out, to be typed into as rows of cells and compared."""

    def __init__(self, folder, suffix: str) -> None:
        self.path = folder / f"sheet{suffix}"
        self.suffix = suffix

    def out(self, report: Report, edit=lambda rows: rows) -> None:
        """Write `report`, and let `edit` change its rows in place."""
        self.path.write_bytes(written(report, self.path))
        if self.suffix == ".csv":
            rows = list(csv.reader(io.StringIO(self.path.read_text("utf-8"), newline="")))
            edit(rows)
            self.save(rows)
            return
        book = openpyxl.load_workbook(self.path)
        for page in book.worksheets:
            self._edit(page, edit)
        book.save(self.path)

    def save(self, rows, **options) -> None:
        """Write rows as a spreadsheet does."""
        stream = io.StringIO(newline="")
        csv.writer(stream, **options).writerows(rows)
        self.path.write_text(stream.getvalue(), "utf-8", newline="")

    def _edit(self, page, edit) -> None:
        before = [["" if c.value is None else c.value for c in row] for row in page.iter_rows()]
        rows = [[f"{v:.4f}" if isinstance(v, float) else str(v) for v in row] for row in before]
        for k, row in enumerate(rows):
            row.append(f"#{k}")  # to know a row again
        edit(rows)
        kept = [int(row[-1][1:]) if row and row[-1].startswith("#") else None for row in rows]
        for merged in list(page.merged_cells.ranges):
            page.unmerge_cells(str(merged))
        formats = [[c.number_format for c in row] for row in page.iter_rows()]
        page.delete_rows(1, page.max_row)
        for i, (row, k) in enumerate(zip(rows, kept, strict=True), start=1):
            for j, text in enumerate(row if k is None else row[:-1]):
                cell = page.cell(i, j + 1)
                if k is not None and j < len(before[k]) and isinstance(before[k][j], int | float):
                    cell.value, cell.number_format = float(text), formats[k][j]
                elif text:
                    cell.value, cell.data_type = text, "s"  # typed as words, even behind a "="

    def told(self, report: Report) -> list[str]:
        """What a comparison says."""
        found = compared(read_sheet(self.path), report)
        assert found.agrees == (not found.others and not found.differences)
        return [*map(str, found.others), *map(str, found.differences)]


@pytest.fixture(params=SUFFIXES)
def typed(request, tmp_path) -> Typed:
    """A sheet of each format."""
    return Typed(tmp_path, request.param)


def row(rows, *first: str):
    """The row that begins so."""
    return next(one for one in rows if tuple(one[: len(first)]) == first)


def where(rows, *first: str) -> bool:
    return any(tuple(one[: len(first)]) == first for one in rows)


def test_a_sheet_agrees_with_its_document(typed):
    typed.path.write_bytes(written(sheet(*LABELS), typed.path))
    assert typed.told(sheet(*LABELS)) == []
    typed.out(sheet(*LABELS))
    assert typed.told(sheet(*LABELS)) == []


def test_one_gram_is_told_with_its_row_and_page(typed):
    def edit(rows):
        for one in rows:
            if one[:2] == ["spindle", "dense"] and float(one[2]) == 1501.0:
                one[2] = "1502.00"

    typed.out(sheet(*LABELS), edit)
    told = 'weight class 15 lb, "spindle": mass, g reads 1502.00, should read 1501.00'
    assert typed.told(sheet(*LABELS)) == [told]


def test_a_row_that_is_gone_and_one_that_is_new_are_told_by_name(typed):
    def edit(rows):
        if where(rows, "Weight class 16 lb"):
            rows.remove(row(rows, "mantle", "dense"))
            rows.insert(rows.index(row(rows, "cover", "dense")) + 1, ["bolt", "steel", "12.00"])

    typed.out(sheet("16"), edit)
    assert typed.told(sheet("16")) == [
        (
            'weight class 16 lb, "Outside, mantle": the row is missing '
            '("mantle, dense, 1602.00, +0.0360, -")'
        ),
        'weight class 16 lb: a row is added, "bolt, steel, 12.00"',
    ]


def test_a_page_that_is_gone_is_told_once(typed):
    typed.out(sheet("16"))
    assert typed.told(sheet(*LABELS)) == ["weight class 15 lb: the page is missing"]
    typed.out(sheet(*LABELS))
    told = typed.told(sheet("16"))
    assert len(told) == 12
    assert all("a row is added" in one for one in told)


def test_another_revisions_sheet_is_told_so_first(typed):
    typed.out(sheet("15.5", revision="B", sha="f" * 64))
    told = typed.told(sheet("15"))
    assert told[:2] == [
        'this sheet belongs to revision "B", here it is revision "A"',
        f'this sheet belongs to fingerprint "{"f" * 12}", here it is fingerprint "{SHA[:12]}"',
    ]
    assert 'weight class 15 lb, "keel": mass, g reads 1550.00, should read 1500.00' in told


def test_another_scenarios_sheet_is_told_so_and_nothing_else_where_nothing_else_differs(typed):
    typed.out(sheet("15", name="Yew & (Co)"))
    told = ['this sheet belongs to scenario "Yew & (Co)", here it is scenario "Rowan"']
    assert typed.told(sheet("15")) == told


def test_a_revision_in_one_place_only_is_still_told(typed):
    def edit(rows):
        if where(rows, "title block"):
            row(rows, "revision")[1] = "B"

    typed.out(sheet("15"), edit)
    assert typed.told(sheet("15")) == [
        'this sheet belongs to revision "B", here it is revision "A"'
    ]


def test_blanks_are_free_to_be_filled_in(typed):
    def edit(rows):
        for n, one in enumerate(rows):
            one[:] = [cell.replace(BLANK, ("Ash", "", "=12", "1.5")[n % 4]) for cell in one]

    typed.out(sheet(*LABELS), edit)
    assert typed.told(sheet(*LABELS)) == []


def test_rows_of_blanks_that_are_filled_in_part_stay_in_their_places(typed):
    blanks = Table((left("lot"), left("by")), ((BLANK, BLANK),) * 4)
    report = Report((Heading("Lots of today"), blanks), sheet().data)

    def edit(rows):
        rows[3][0] = "lot 7"

    typed.out(report, edit)
    assert typed.told(report) == []


def test_what_is_written_beside_a_table_is_told(typed):
    def edit(rows):
        if where(rows, "Weight class 16 lb"):
            one = row(rows, "cover", "dense")
            one.insert(5, "see me")

    typed.out(sheet("16"), edit)
    (told,) = typed.told(sheet("16"))
    assert told == (
        'weight class 16 lb, "Outside, cover": cell 6 reads "see me", should read nothing'
    )


def test_words_and_headers_are_compared_word_for_word(typed):
    def edit(rows):
        for one in rows:
            one[:] = [c.replace("mass, g", "mass, oz").replace("Weigh;", "Guess;") for c in one]

    typed.out(sheet("16"), edit)
    assert typed.told(sheet("16")) == [
        'weight class 16 lb: mass, g reads "mass, oz", should read "mass, g"',
        'notes: the line reads "Guess; then pour.", should read "Weigh; then pour."',
    ]


def test_a_spreadsheet_saves_csv_in_its_own_way(tmp_path):
    """Semicolons, decimal commas, the mark, a line that names the sign, cells and rows without end.

    Figures come back as numbers: without signs and zeros at their end.
    """
    typed = Typed(tmp_path, ".csv")
    typed.out(sheet(*LABELS))
    rows = list(csv.reader(io.StringIO(typed.path.read_text("utf-8"), newline="")))
    plain = [[_number(cell) for cell in one] + [""] * (9 - len(one)) for one in rows]
    for separator, comma in ((",", "."), (";", "."), (";", ","), ("\t", ".")):
        some = [[_with(cell, comma) for cell in one] for one in plain]
        typed.save([*some, [""] * 9], delimiter=separator)
        assert typed.told(sheet(*LABELS)) == []
        typed.path.write_bytes(csv_.MARK + typed.path.read_bytes())
        assert typed.told(sheet(*LABELS)) == []
    row(some, "revision")[1] = "C"
    typed.save(some, delimiter=";", lineterminator="\n")
    typed.path.write_text("sep=;\n" + typed.path.read_text("utf-8"), "utf-8")
    assert typed.told(sheet(*LABELS)) == [
        'this sheet belongs to revision "C", here it is revision "A"'
    ]


def _number(cell: str) -> str:
    try:
        return f"{float(cell):g}"
    except ValueError:
        return cell


def _with(cell: str, comma: str) -> str:
    return cell.replace(".", comma) if cell.replace(".", "").replace("-", "").isdigit() else cell


def test_a_comma_is_no_decimal_sign_where_commas_part_cells(tmp_path):
    typed = Typed(tmp_path, ".csv")
    typed.out(sheet("16"), lambda rows: row(rows, "keel", "dense").__setitem__(2, "1600,00"))
    told = 'weight class 16 lb, "keel": mass, g reads "1600,00", should read 1600.00'
    assert typed.told(sheet("16")) == [told]


def test_a_workbook_is_what_it_shows(tmp_path):
    """With a digit less the same number is another one to whoever weighs it out."""
    typed = Typed(tmp_path, ".xlsx")
    typed.path.write_bytes(written(sheet("15.55"), typed.path))
    book = openpyxl.load_workbook(typed.path)
    cell = next(c for c in book.worksheets[1]["D"] if isinstance(c.value, float))
    assert f"{cell.value:+.2f}" == "+0.02"
    cell.number_format = "0.00"
    book.save(typed.path)
    (told,) = typed.told(sheet("15.55"))
    assert "off, g/cm³ reads 0.02, should read +0.01" in told
    cell.number_format = "General"
    book.save(typed.path)
    assert typed.told(sheet("15.55")) == []


@pytest.mark.parametrize(
    ("name", "content", "what"),
    [
        ("x.csv", b"a,b\r\n1,2\r\n", "is no sheet of this line-up"),
        ("x.csv", b"", "is no sheet of this line-up"),
        ("x.csv", "cm³".encode("cp1252"), "is not UTF-8; save it as CSV UTF-8"),
        ("x.csv", b'"' + b"x" * 200000, "can't be read as CSV"),
        ("x.xlsx", b"PK\x03\x04", "is a damaged or locked archive; save it again"),
        ("x.xlsx", b"", "is a damaged or locked archive; save it again"),
        ("x.xlsx", zipped("x"), "can't be read as a workbook"),
        ("x.pdf", b"", "the suffix says no format of a sheet; .csv or .xlsx"),
        ("none.csv", None, "does not exist; check its name"),
    ],
)
def test_a_file_that_is_no_sheet_is_refused_in_one_line(tmp_path, name, content, what):
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(InputError) as refused:
        compared(read_sheet(path), sheet("16"))
    (problem,) = refused.value.problems
    assert problem.file == str(path)
    assert what in str(problem)


def test_another_documents_workbook_is_refused(tmp_path):
    typed = Typed(tmp_path, ".xlsx")
    typed.out(Report((wide(3, 3),), {}))
    with pytest.raises(InputError, match="is no sheet of this line-up"):
        typed.told(sheet("16"))


def test_without_openpyxl_one_line_says_what_to_install(tmp_path, monkeypatch):
    (tmp_path / "x.xlsx").write_bytes(b"")
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    with pytest.raises(InputError, match=r'pip install "samespin\[sheets\]"'):
        read_sheet(tmp_path / "x.xlsx")


def test_a_row_behind_the_last_one_is_told(typed):
    typed.out(sheet("16"), lambda rows: rows.append(["thin it", "with", "5.00"]))
    told = typed.told(sheet("16"))
    assert 'notes: a row is added, "thin it, with, 5.00"' in told
    assert len(told) == (1 if typed.suffix == ".csv" else 3), "behind each page of a workbook"


def test_a_fingerprint_is_whole_or_told(typed):
    def edit(rows):
        for one in rows:
            one[:] = [cell.replace(SHA[:12], SHA[:3]) for cell in one]

    typed.out(sheet("16"), edit)
    (told,) = typed.told(sheet("16"))
    assert 'the line reads "Fingerprint 012; poured by' in told


def test_a_line_that_says_the_revision_twice_says_one(typed):
    def report(one: str, other: str) -> Report:
        text = f"Sheet of revision {one}, not to be used after revision {other}"
        return Report((Heading(text), wide(2, 3)), sheet().data)

    typed.out(report("B", "B"))
    assert typed.told(report("A", "A")) == [
        'this sheet belongs to revision "B", here it is revision "A"'
    ]
    typed.out(report("A", "B"))
    (told,) = typed.told(report("A", "A"))
    assert 'reads "Sheet of revision A, not to be used after revision B", should read' in told
