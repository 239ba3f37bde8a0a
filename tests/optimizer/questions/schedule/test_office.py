"""Sheets as an office prints them: a workbook by LibreOffice, HTML by Chromium, both onto paper.

What is looked at is where each word of the PDF stands. Without the programs these tests are
skipped; `.ci/run` installs them.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from answers import example
from documents import sheet, wide
from paper import SIZES, Paper, papers, run, tool

from optimizer.paper.document import Heading, Page, Report, Table
from optimizer.paper.writers import html_, xlsx_
from optimizer.questions.schedule.page import schedule_blocks
from optimizer.questions.schedule.pouring.schedule import schedule
from optimizer.questions.schedule.steps.steps import on_steps

pytestmark = pytest.mark.office

COLUMNS, ROWS, LONG = 12, 6, 150
QUIET = (
    "--headless",
    "--no-sandbox",
    "--no-first-run",
    "--no-pdf-header-footer",
    "--disable-gpu",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def by_libreoffice(report: Report, folder: Path) -> list[Paper]:
    program = tool("soffice", "libreoffice")
    (folder / "x.xlsx").write_bytes(xlsx_.encoded(report))
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    where = ("--convert-to", "pdf", "--outdir", folder, folder / "x.xlsx")
    run(program, "--headless", profile, *where)
    return papers(folder / "x.pdf")


def by_chromium(report: Report, folder: Path, paper: str) -> list[Paper]:
    """Print on a paper, which a browser's dialog would ask for and the page leaves open."""
    program = tool("chromium", "chromium-browser", "google-chrome")
    content = html_.encoded(report).decode()
    assert content.count("@page { ") == 1
    content = content.replace("@page { ", f"@page {{ size: {paper}; ")
    content = content.replace("{ size: landscape;", f"{{ size: {paper} landscape;")
    content = re.sub(r"<meta http-equiv=.*>", "", content)  # it allows no other style than its own
    (folder / "x.html").write_text(content, "utf-8")
    profile = f"--user-data-dir={folder / 'profile'}"
    run(
        program, *QUIET, profile, f"--print-to-pdf={folder / 'x.pdf'}", (folder / "x.html").as_uri()
    )
    return papers(folder / "x.pdf")


PRINTERS = ("libreoffice", *SIZES)


@pytest.fixture(params=PRINTERS)
def printed(request, tmp_path):
    """A function that prints a report, on each of these ways."""

    def onto(report: Report) -> list[Paper]:
        if request.param == "libreoffice":
            return by_libreoffice(report, tmp_path)
        found = by_chromium(report, tmp_path, request.param)
        size = sorted(SIZES[request.param])
        assert all(sorted(one.size) == pytest.approx(size, abs=1.5) for one in found)
        return found

    return onto


def cells(table: Table) -> list[str]:
    """The figures of a table, each there once."""
    return [cell for row in table.rows for cell in row[1:]]


def test_pages_are_pages_and_nothing_is_cut_off(printed):
    """A title, two weights, notes, a wide table, a long one: every cell inside the margins."""
    broad, long = wide(COLUMNS, ROWS), wide(4, LONG)
    report = sheet("16", "15")
    more = (Page("broad"), Heading("Broad"), broad, Page("long"), Heading("Long"), long)
    found = printed(Report((*report.blocks, *more), report.data))

    begins = ["Schedule:", "class 16", "class 15", "Notes", "Broad", "Long"]
    for page, begin in zip(found, begins, strict=False):
        assert begin in page.text
    assert len(found) > len(begins), "the long table takes several pages"

    upright = [page.size[0] < page.size[1] for page in found]
    assert upright == [page is not found[4] for page in found], "the wide page lies on its side"
    assert all(page.inside for page in found)

    for words, table in ((found[4:5], broad), (found[5:], long)):
        there = [word for page in words for word, *_ in page.words]
        figures = [word for word in there if re.fullmatch(r"1\d{3}\.\d{3}", word)]
        assert sorted(figures) == sorted(cells(table))

    for page in found[5:]:
        assert "c3, g" in page.text, "the header stands on every page"
    numbered = [page.text.endswith(f"{n} / {len(found)}") for n, page in enumerate(found, start=1)]
    assert all(numbered), [page.text[-40:] for page in found]


def test_rows_stay_whole_and_figures_can_be_read(printed):
    """The figures of a row stand at one height, each digit 3.2 points wide or more."""
    (page,) = printed(Report((Heading("Broad"), wide(COLUMNS, ROWS)), {}))
    for i in range(ROWS):
        row = [word for word in page.words if word[0].startswith(f"{1000 + i}.")]
        tops = [top for *_, top in row]
        assert len(row) == COLUMNS
        assert max(tops) - min(tops) < 1
        assert min((right - left) / 8 for _, left, right, _ in row) > 3.2


@pytest.mark.parametrize("paper", SIZES)
def test_every_sheet_of_a_schedule_says_whose_it_is_and_no_batch_is_split(tmp_path, paper):
    """Line, revision, weight class with its unit, on all; a batch's first and last row on one."""
    result = example("juniper")
    told = schedule(on_steps(result).lineup, balls=14)
    found = by_chromium(Report(schedule_blocks(told), {}), tmp_path, paper)
    batches = []
    for page in found:
        assert re.search(
            r"Density schedule: Juniper, revision A · weight class(es 16 lb, .* and 13| 1[3-6]) lb",
            page.text,
        )
        begun = re.findall(r"1[3-6] lb, (\w+), batch (\d+) of (\d+): for", page.text)
        assert page.text.count("mass out") == len(begun)
        batches += begun
        assert not begun or "to weigh" in page.text, "the header stands on every page"
    assert len(batches) == sum(one.batch.count for c in told.classes for one in c.castings)
    assert max(int(count) for *_, count in batches) > 1


def test_no_page_of_a_workbook_splits_a_batch_either(tmp_path):
    """Its first row and its last stand on one page, of as many batches as there are."""
    result = example("juniper")
    told = schedule(on_steps(result).lineup, balls=14)
    batches = 0
    for page in by_libreoffice(Report(schedule_blocks(told), {}), tmp_path):
        begun = re.findall(r"1[3-6] lb, (\w+), batch (\d+) of (\d+): for", page.text)
        assert page.text.count("mass out") == len(begun)
        batches += len(begun)
    assert batches == sum(one.batch.count for c in told.classes for one in c.castings)
