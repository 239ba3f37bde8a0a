"""The HTML file as a parser reads it."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from documents import sheet, table, wide

from optimizer.paper.document import Chart, Heading, Notes, Page, Paragraph, Report, Table, left
from optimizer.paper.writers import html_

VOID = {"meta"}
NASTY = "<b>&\"'</style><script>x</script>"


class Read(HTMLParser):
    """Texts with the element that each stands in; a tag that is not closed in order is an error."""

    def __init__(self, content: bytes) -> None:
        super().__init__()
        self.open: list[tuple[str, int]] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[str, str]] = []
        self.feed(content.decode())
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        """Begin an element."""
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append((tag, len(self.texts)))
            self.texts.append((tag, ""))

    def handle_endtag(self, tag):
        """End the element that is open."""
        assert self.open.pop()[0] == tag

    def handle_data(self, data):
        """Add to the text of the element that is open."""
        if self.open:
            tag, at = self.open[-1]
            self.texts[at] = (tag, self.texts[at][1] + data)

    def all(self, *tags: str) -> list[str]:
        """The texts of all elements of these kinds, in order."""
        return [text for tag, text in self.texts if tag in tags]


def read(report: Report) -> Read:
    return Read(html_.encoded(report))


def test_every_text_of_the_document_is_there_in_its_order():
    report = sheet("16", "15")
    wanted = []
    for block in report.blocks:
        match block:
            case Heading(text) | Paragraph(text):
                wanted.append(text)
            case Notes(lines):
                wanted += lines
            case Chart(lines):
                wanted.append("\n".join(lines))
            case Table(columns, rows):
                wanted += [column.header for column in columns]
                wanted += [cell for row in rows for cell in row]
    assert read(report).all("h1", "h2", "p", "li", "th", "td", "pre") == wanted


def test_names_are_text_wherever_they_stand():
    blocks = (
        Heading(NASTY),
        Paragraph(NASTY),
        Notes((NASTY,)),
        Table((left(NASTY), left("b")), ((NASTY,), (NASTY, NASTY))),
        Chart((NASTY,)),
    )
    content = read(Report(blocks, {}))
    texts = content.all("title", "h1", "p", "li", "th", "td", "pre")
    assert texts == [NASTY] * 5 + ["b"] + [NASTY] * 4
    assert {tag for tag, _ in content.tags}.isdisjoint({"b", "script"})
    assert len(content.all("style")) == 1


def test_a_title_in_the_margin_is_a_string_that_it_cannot_leave():
    """In CSS a quote, a bracket and a line end are told by their codes."""
    (style,) = read(Report((Heading('a"; } </style>\n\\x'),), {})).all("style")
    (told,) = re.findall(r"@bottom-left \{ content: (.*?); font", style)
    assert told == r'"a\22 \3b  \7d  \3c \2f style\3e \fffd \5c x"'


def test_at_the_foot_of_every_sheet_of_paper_stands_whose_it_is():
    """The document's title, and what its page says of itself: else the page's name."""
    blocks = (
        Heading("Pours"), Page("line", "weights 16 and 15"), Paragraph("x"), Page("15"),
        wide(40, 2),
    )  # fmt: skip
    (style,) = read(Report(blocks, {})).all("style")
    feet = re.findall(
        r'@page page-(\d) \{ (size: landscape; )?@bottom-left \{ content: "(.*?)"', style
    )
    dot = r" \b7  "
    assert feet == [
        ("1", "", "Pours"),
        ("2", "", f"Pours{dot}weights 16 and 15"),
        ("3", "size: landscape; ", f"Pours{dot}15"),
    ]
    assert all(f"#page-{k} {{ page: page-{k}; }}" in style for k in (1, 2, 3))


def test_rows_under_a_heading_of_their_own_stay_together():
    rows = (("keel",), ("resin", "1"), ("cover",), ("resin", "2"))
    content = read(Report((Table((left("a"), left("b")), rows), wide(1, 2)), {}))
    bodies = [attributes.get("class") for tag, attributes in content.tags if tag == "tbody"]
    assert bodies == ["kept", "kept", None]
    assert "tr, .kept { break-inside: avoid; }" in content.all("style")[0]


def test_it_needs_nothing_beside_it():
    content = html_.encoded(sheet("16")).decode()
    assert not re.search(r"https?:|url\(|@import|src=|href=|<script|<link", content)


def test_each_page_is_a_section_and_each_table_has_a_head_that_repeats():
    content = read(sheet("16", "15"))
    tags = [tag for tag, _ in content.tags]
    assert tags.count("section") == 4
    assert tags.count("h1") == 1
    assert tags.count("thead") == tags.count("table") == 5
    (style,) = content.all("style")
    assert "thead { display: table-header-group; }" in style


@pytest.mark.parametrize(("columns", "sideways"), [(5, [None]), (40, ["wide"])])
def test_a_table_too_wide_for_upright_paper_lies_on_its_side(columns, sideways):
    tags = read(Report((wide(columns, 3),), {})).tags
    assert [attributes.get("class") for tag, attributes in tags if tag == "section"] == sideways


def test_a_document_of_nothing_is_a_page_of_nothing():
    assert read(Report((), {})).all("title") == ["samespin"]
    assert read(Report((Page("a"), Page("b")), {})).all("section") == []


def test_a_first_column_of_figures_is_no_name():
    assert read(table(("1", "2"))).all("td") == ["1", "2"]
