from __future__ import annotations

import io

import pytest

from optimizer.paper.document import Column, Heading, Notes, Page, Paragraph, Table, left
from optimizer.paper.writers import console

TABLE = Table(
    (left("part"), Column("density, g/cm³"), Column("±")),
    (("cover", "1.1708", "0.0100"), ("among the rows",), ("a part with a long name", "0.9", "-")),
)
BLOCKS = (
    Paragraph("All is well.", "good"),
    TABLE,
    Notes(("one", "two"), "warning"),
    Heading("End"),
)


class Terminal(io.StringIO):
    """Text that takes itself for a screen."""

    def isatty(self) -> bool:
        """Return True."""
        return True


def test_tables_are_laid_out_in_full_with_words_left_and_numbers_right() -> None:
    """A golden layout: columns are as wide as their widest cell, two blanks apart."""
    assert console.plain(BLOCKS).splitlines() == [
        "All is well.",
        "",
        "part                     density, g/cm³       ±",
        "-----------------------------------------------",
        "cover                            1.1708  0.0100",
        "among the rows",
        "a part with a long name             0.9       -",
        "",
        "- one",
        "- two",
        "",
        "End",
    ]


def test_a_pipe_gets_no_colour_and_nothing_is_cut_or_wrapped() -> None:
    stream = io.StringIO()
    words = " ".join(["word"] * 60)
    console.write((Paragraph(words, "bad"), Table((left("x"),), (("9" * 300,),))), stream)
    assert "\x1b" not in stream.getvalue()
    assert words in stream.getvalue()
    assert "9" * 300 in stream.getvalue()


def test_a_terminal_gets_colour_and_wrapped_prose_but_whole_cells(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLUMNS", "60")
    stream = Terminal()
    console.write((Paragraph("word " * 40, "bad"), Table((left("x"),), (("9" * 300,),))), stream)
    assert "\x1b[1;31m" in stream.getvalue()
    assert "9" * 300 in stream.getvalue()
    prose = [line for line in stream.getvalue().splitlines() if "word" in line]
    assert len(prose) == 4  # 12 words of 5 signs in 60 columns


@pytest.mark.parametrize("columns", [40, 7, 1])
def test_no_figure_of_prose_is_cut_however_narrow_the_screen(columns: int, monkeypatch) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    stream = Terminal()
    console.write((Paragraph("2.5500 in, of 7fb3ae8644837fb3ae864483 and 1.2345678901"),), stream)
    words = ["2.5500", "in,", "of", "7fb3ae8644837fb3ae864483", "and", "1.2345678901"]
    assert stream.getvalue().split() == words
    lines = stream.getvalue().splitlines()
    assert all(len(line) <= columns or " " not in line for line in lines)


def test_no_color_is_honoured(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm-256color")
    stream = Terminal()
    console.write((Paragraph("INFEASIBLE", "bad"),), stream)
    assert "31" not in stream.getvalue()
    assert "INFEASIBLE" in stream.getvalue()


def test_a_name_cannot_steer_the_terminal() -> None:
    text = console.plain((Paragraph("a\x1b[2Jb\nc\u202ed"),))
    assert text == "a�[2Jb�c�d\n"


def test_a_row_must_fit_its_columns() -> None:
    with pytest.raises(ValueError, match="2 cells under 3 columns"):
        Table(TABLE.columns, (("a", "b"),))


def test_a_screen_has_no_pages() -> None:
    blocks = (Heading("a"), Paragraph("b"), Heading("c"))
    paged = (Page("one"), *blocks[:2], Page("two"), *blocks[2:])
    assert console.plain(paged) == console.plain(blocks)
