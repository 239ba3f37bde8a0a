"""The writer for a screen or a pipe.

Tables have our own layout, since rich cuts a table to the width of the screen, and a pour sheet
must never lose a digit. On a terminal, rich colours the lines and wraps prose.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import TextIO

from rich.cells import cell_len
from rich.console import Console
from rich.text import Text

from optimizer.paper.document import (
    Block,
    Chart,
    Column,
    Drawn,
    Heading,
    Notes,
    Page,
    Paragraph,
    Table,
)
from shared.letters import safe

STYLES = {"plain": "", "good": "bold green", "bad": "bold red", "warning": "yellow", "quiet": "dim"}
WIDEST = 100
"""Prose wraps here even if the screen is wider."""


def write(blocks: Sequence[Block], stream: TextIO) -> None:
    """Write `blocks` to `stream`: plain and at full width unless it is a terminal."""
    if not stream.isatty():
        stream.write(plain(blocks))
        return
    console = Console(file=stream, highlight=False, markup=False, emoji=False)
    width = min(console.width, WIDEST)
    for text, style, prose in _lines(blocks):
        for piece in _wrapped(text, width) if prose else [text]:
            console.print(Text(piece, style=style), soft_wrap=True)


def _wrapped(text: str, width: int) -> list[str]:
    """Return a text in lines; a word is never cut, since it may be a figure."""
    hang = " " * (len(text) - len(text.lstrip("- ")))
    lines = wrap(
        text, width, subsequent_indent=hang, break_long_words=False, break_on_hyphens=False
    )
    return lines or [""]


def plain(blocks: Sequence[Block]) -> str:
    """Return `blocks` as text without colour, nothing cut or wrapped."""
    return "".join(f"{text}\n" for text, _, _ in _lines(blocks))


def _lines(blocks: Sequence[Block]) -> Iterator[tuple[str, str, bool]]:
    """Yield each line with its style and whether it is prose; an empty line before each table."""
    blocks = [block for block in blocks if not isinstance(block, Page | Drawn)]
    for i, block in enumerate(blocks):
        if i > 0 and (
            isinstance(block, Heading | Table | Chart) and not isinstance(blocks[i - 1], Heading)
        ):
            yield "", "", False
        match block:
            case Heading(text):
                yield safe(text), "bold", True
            case Paragraph(text, tone):
                yield safe(text), STYLES[tone], True
            case Notes(lines, tone):
                for line in lines:
                    yield f"- {safe(line)}", STYLES[tone], True
            case Table():
                yield from ((line, style, False) for line, style in _table(block))
            case Chart(lines):
                yield from ((safe(line), "", False) for line in lines)
        after_table = isinstance(block, Table | Chart) and i + 1 < len(blocks)
        if after_table and not isinstance(blocks[i + 1], Heading | Table | Chart):
            yield "", "", False


def _table(table: Table) -> Iterator[tuple[str, str]]:
    header = tuple(safe(column.header) for column in table.columns)
    rows = [tuple(safe(cell) for cell in row) for row in table.rows]
    full = [header, *(row for row in rows if len(row) == len(header))]
    widths = [max(cell_len(row[k]) for row in full) for k in range(len(header))]
    yield _row(header, table.columns, widths), "bold"
    yield "-" * (sum(widths) + 2 * (len(widths) - 1)), "dim"
    for row in rows:
        yield (row[0], "bold") if len(row) < len(header) else (_row(row, table.columns, widths), "")


def _row(cells: Sequence[str], columns: Sequence[Column], widths: Sequence[int]) -> str:
    padded = []
    for cell, column, width in zip(cells, columns, widths, strict=True):
        gap = " " * (width - cell_len(cell))
        padded.append(cell + gap if column.align == "left" else gap + cell)
    return "  ".join(padded).rstrip()
