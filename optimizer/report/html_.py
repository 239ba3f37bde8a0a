"""The writer for browsers and their printers: one HTML file that needs nothing beside it.

Prints on A4 and Letter: what is a new page in the document is one on paper, headers stand again on
every page, and a table that is too wide for upright paper lies on its side. No scripts; the same
document gives the same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from html import escape
from itertools import groupby
from typing import Final

from optimizer.report.document import (
    BLANK,
    Block,
    Chart,
    Heading,
    Notes,
    Page,
    Paragraph,
    Report,
    Table,
    safe,
)

UPRIGHT: Final = 112
"""A table of more letters a row would be under 8 points on upright paper: it lies on its side."""

WORDS: Final = 24
"""So many letters a column of words has at least, before it wraps."""

STYLE: Final = """\
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 1.5rem auto; padding: 0 1rem; max-width: 75rem; color: #000; background: #fff;
  font: 1rem/1.4 system-ui, "Liberation Sans", Arial, sans-serif; }
h1 { font-size: 1.6rem; line-height: 1.2; margin: 0 0 1rem; }
h2 { font-size: 1.2rem; line-height: 1.25; margin: 1.6rem 0 .6rem; }
p, ul { margin: .6rem 0; max-width: 46rem; }
ul { padding-left: 1.2rem; }
.bad, .warning { font-weight: bold; }
.table { overflow-x: auto; margin: .8rem 0; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums lining-nums; }
th, td { padding: .3em .6em; text-align: left; vertical-align: top; }
th { font-weight: normal; }
thead th { font-weight: bold; vertical-align: bottom; border-bottom: 2px solid; }
tbody tr > * { border-bottom: 1px solid #999; }
tbody th[colspan] { font-weight: bold; padding-top: .9em; }
.right { text-align: right; }
tbody .right { white-space: nowrap; }
.fill > * { padding-top: .9em; white-space: nowrap; }
pre { overflow-x: auto; font-size: .8rem; line-height: 1.2; }
section + section { border-top: 2px solid; margin-top: 2.5rem; padding-top: 1.5rem; }
@page { margin: 14mm 14mm 18mm; @bottom-right { content: counter(page) " / " counter(pages);
  font: 9pt sans-serif; } @bottom-left { content: TITLE; font: 9pt sans-serif; } }
@page wide { size: landscape; }
@media print {
  body { margin: 0; padding: 0; max-width: none; font-size: 11pt; --paper: 181mm; }
  h1 { font-size: 17pt; }
  h2 { font-size: 13pt; }
  p, ul { max-width: none; }
  h1, h2 { break-after: avoid; }
  p, li, pre { break-inside: avoid; }
  section + section { break-before: page; border: 0; margin: 0; padding: 0; }
  .wide { page: wide; --paper: 250mm; }
  .table { overflow: visible; }
  table { font-size: min(12pt, calc(var(--paper) / var(--letters) / .6)); }
  thead { display: table-header-group; }
  tr { break-inside: avoid; }
  th, td { padding: .18em .6em; }
  tr.group { break-after: avoid; }
  pre { font-size: 7pt; overflow: visible; }
}
"""
"""The font of a printed table follows from its letters a row, at 0.6 em each."""


def encoded(report: Report) -> bytes:
    """Return the report's blocks as HTML in UTF-8."""
    return ("\n".join(_file(report.blocks)) + "\n").encode()


def _file(blocks: Sequence[Block]) -> Iterator[str]:
    title = next((block.text for block in blocks if isinstance(block, Heading)), "samespin")
    yield "<!DOCTYPE html>"
    yield '<html lang="en">'
    yield "<head>"
    yield '<meta charset="utf-8">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<title>{_text(title)}</title>"
    yield f"<style>\n{STYLE.replace('TITLE', _quoted(title))}</style>"
    yield "</head>"
    yield "<body>"
    level = "h1"
    for page in _pages(blocks):
        yield '<section class="wide">' if _wide(page) else "<section>"
        for block in page:
            yield from _block(block, level)
            level = "h2" if isinstance(block, Heading) else level
        yield "</section>"
    yield "</body>"
    yield "</html>"


def _pages(blocks: Sequence[Block]) -> Iterator[list[Block]]:
    """Yield the blocks of each page that has any."""
    for begins, group in groupby(blocks, key=lambda block: isinstance(block, Page)):
        if not begins:
            yield list(group)


def _wide(page: Sequence[Block]) -> bool:
    return any(isinstance(block, Table) and _letters(block) > UPRIGHT for block in page)


def _letters(table: Table) -> int:
    """Return how many letters wide a table is: figures whole, words wrapped at their spaces."""
    full = [row for row in table.rows if len(row) == len(table.columns)]
    total = 0
    for k, column in enumerate(table.columns):
        pieces, whole = column.header.split(), [row[k] for row in full]
        if column.align == "left":
            pieces += [piece for cell in whole for piece in cell.split()]
            whole = [cell[:WORDS] for cell in whole]
        total += 2 + max(map(len, (*pieces, *whole)), default=0)
    return total


def _block(block: Block, level: str) -> Iterator[str]:
    match block:
        case Heading(text):
            yield f"<{level}>{_text(text)}</{level}>"
        case Paragraph(text, tone):
            yield f"<p{_class(tone)}>{_text(text)}</p>"
        case Notes(lines, tone):
            yield f"<ul{_class(tone)}>"
            yield from (f"<li>{_text(line)}</li>" for line in lines)
            yield "</ul>"
        case Table():
            yield from _table(block)
        case Chart(lines):
            yield "<pre>" + "\n".join(map(_text, lines)) + "</pre>"


def _table(table: Table) -> Iterator[str]:
    yield f'<div class="table"><table style="--letters: {_letters(table)}">'
    yield "<thead><tr>"
    for column in table.columns:
        yield f'<th scope="col"{_class(column.align)}>{_text(column.header)}</th>'
    yield "</tr></thead>"
    yield "<tbody>"
    for row in table.rows:
        if len(row) < len(table.columns):
            span = f'scope="rowgroup" colspan="{len(table.columns)}"'
            yield f'<tr class="group"><th {span}>{_text(row[0])}</th></tr>'
            continue
        yield f"<tr{_class('fill' if any(map(BLANK.fullmatch, row)) else 'plain')}>"
        for k, (cell, column) in enumerate(zip(row, table.columns, strict=True)):
            head = k == 0 and column.align == "left"
            tag, scope = ("th", ' scope="row"') if head else ("td", "")
            yield f"<{tag}{scope}{_class(column.align)}>{_text(cell)}</{tag}>"
        yield "</tr>"
    yield "</tbody></table></div>"


def _class(name: str) -> str:
    return "" if name in {"plain", "left"} else f' class="{name}"'


def _text(text: str) -> str:
    return escape(safe(text))


def _quoted(text: str) -> str:
    """Return a text as a string of CSS, all but letters, figures and spaces by their code."""
    return '"' + re.sub(r"[^A-Za-z0-9 ]", lambda m: f"\\{ord(m[0]):x} ", safe(text)) + '"'
