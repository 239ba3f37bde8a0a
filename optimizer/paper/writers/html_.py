"""The writer for browsers and their printers: one self-contained HTML file.

It prints on A4 and Letter: a new page in the document is one on paper, with its foot on every
sheet; table headers repeat on every page, rows under a heading of their own stay together, and a
table too wide for portrait is printed in landscape. The file's policy is strict: nothing is
fetched, and only its own styles and scripts run. The same document gives the same bytes.
"""

from __future__ import annotations

import json
import re
from base64 import b64encode
from collections.abc import Iterator, Sequence
from hashlib import sha256
from html import escape
from importlib.resources import files
from itertools import groupby
from typing import Any, Final

from optimizer.paper.document import (
    BLANK,
    Attached,
    Block,
    Chart,
    Heading,
    Live,
    Notes,
    Page,
    Paragraph,
    Pictures,
    Report,
    Table,
)
from shared.letters import json_escaped, safe

UPRIGHT: Final = 112
"""Letters in a row. Wider tables would be under 8 points in portrait: they are in landscape."""
WORDS: Final = 24
"""Letters of a column of words before it wraps, at least."""
NARROW: Final = 36
"""Letters in a row. Wider tables may have to be scrolled on a phone, or by keyboard."""
SIZES: Final = {"small": 350, "middle": 420}
"""px. Pictures no wider than these are three or two in a row on paper. A wider one is large: it
is never shrunk beyond legibility, and scrolls on a phone."""
CHAPTERS: Final = 4
"""A document of this many pages begins with a list of them."""


def encoded(report: Report) -> bytes:
    """Return the report's blocks as HTML in UTF-8."""
    return ("\n".join(_file(report.blocks)) + "\n").encode()


def fragment(blocks: Sequence[Block]) -> str:
    """Return blocks as HTML for use in another page with its own style."""
    return "\n".join(line for block in blocks for line in _block(block, "h3"))


def _file(blocks: Sequence[Block]) -> Iterator[str]:
    title = next((block.text for block in blocks if isinstance(block, Heading)), "samespin")
    pages = list(_pages(blocks))
    feet = "".join(_paper(k, title, *page) for k, page in enumerate(pages, start=1))
    style, scripts = _style(blocks, title, feet), [b.script for b in blocks if isinstance(b, Live)]
    yield "<!DOCTYPE html>"
    yield '<html lang="en">'
    yield "<head>"
    yield '<meta charset="utf-8">'
    yield f'<meta http-equiv="Content-Security-Policy" content="{_policy(style, scripts)}">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<title>{_text(title)}</title>"
    yield f"<style>{style}</style>"
    yield "</head>"
    yield "<body>"
    yield from _chapters([page.name for page, _ in pages])
    yield "<main>"
    level = "h1"
    for k, (_, content) in enumerate(pages, start=1):
        wide = ' class="wide"' if _wide(content) else ""
        yield f'<section id="page-{k}"{wide}>'
        for block in content:
            yield from _block(block, level)
            level = "h2" if isinstance(block, Heading) else level
        yield "</section>"
    yield "</main>"
    yield from (f"<script>{script}</script>" for script in scripts)
    yield "</body>"
    yield "</html>"


def _style(blocks: Sequence[Block], title: str, feet: str) -> str:
    """Return the style: the style sheet, the pages' feet, the widths of tables in letters."""
    sheet = (files(__package__) / "page.css").read_text(encoding="utf-8")
    letters = sorted({_letters(block) for block in blocks if isinstance(block, Table)})
    counts = "".join(f".letters-{n} {{ --letters: {n}; }}\n" for n in letters)
    return f"\n{sheet.replace('TITLE', _quoted(title))}{feet}{counts}"


def _paper(k: int, title: str, page: Page, content: Sequence[Block]) -> str:
    """Return the orientation of page `k` on paper, and its foot."""
    side = "size: landscape; " if _wide(content) else ""
    return (
        f"@page page-{k} {{ {side}@bottom-left {{ content: {_quoted(page.under(title))}; }} }}\n"
        f"#page-{k} {{ page: page-{k}; }}\n"
    )


def _policy(style: str, scripts: Sequence[str]) -> str:
    """Return the Content-Security-Policy (W3C, level 3) that allows only these hashes."""
    allowed = " ".join(map(_hash, scripts)) or "'none'"
    return (
        f"default-src 'none'; style-src {_hash(style)}; script-src {allowed}; "
        "base-uri 'none'; form-action 'none'"
    )


def _hash(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def _chapters(names: Sequence[str]) -> Iterator[str]:
    """Yield the list of the pages that have a name, if there are many."""
    if len(names) < CHAPTERS:
        return
    yield '<nav aria-label="On this page">'
    for k, name in enumerate(names, start=1):
        if name:
            yield f'<a href="#page-{k}">{_text(name)}</a>'
    yield "</nav>"


def _pages(blocks: Sequence[Block]) -> Iterator[tuple[Page, list[Block]]]:
    """Yield each page that has blocks, and these; the first may have no name."""
    page = Page("")
    for begins, group in groupby(blocks, key=lambda block: isinstance(block, Page)):
        content = list(group)
        if begins:
            page = next(block for block in reversed(content) if isinstance(block, Page))
        else:
            yield page, content


def _wide(page: Sequence[Block]) -> bool:
    return any(isinstance(block, Table) and _letters(block) > UPRIGHT for block in page)


def _letters(table: Table) -> int:
    """Return the width of a table in letters: figures whole, words wrapped at their spaces."""
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
            yield f"<pre{_scrolls('text')}>" + "\n".join(map(_text, lines)) + "</pre>"
        case Pictures():
            yield from _figure(block)
        case Live(name, _, data, without):
            yield f'<div class="live" id="{name}"><p>{_text(without)}</p></div>'
            yield _carried(f"{name}-data", data)
        case Attached(name, data):
            yield _carried(name, data)


def _figure(block: Pictures) -> Iterator[str]:
    sizes = [_size(picture.width) for picture in block.shown]
    scrolls = _scrolls("pictures") if "large" in sizes else ""
    yield f'<figure><div class="pictures"{scrolls}>'
    for picture, size in zip(block.shown, sizes, strict=True):
        yield picture.inline(f'class="{size}"')
    yield f"</div><figcaption>{_text(block.caption)}</figcaption></figure>"


def _size(width: float) -> str:
    return next((size for size, most in SIZES.items() if width <= most), "large")


def _carried(name: str, data: Any) -> str:
    """Return data (JSON types) that no browser runs and that can't close its own element."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    escaped = json_escaped(text).replace("<", "\\u003c")
    return f'<script type="application/json" id="{name}">{escaped}</script>'


def _table(table: Table) -> Iterator[str]:
    letters = _letters(table)
    scrolls = _scrolls("table") if letters > NARROW else ""
    yield f'<div class="table"{scrolls}><table class="letters-{letters}">'
    yield "<thead><tr>"
    for column in table.columns:
        tag, scope = ("th", ' scope="col"') if column.header else ("td", "")
        yield f"<{tag}{scope}{_class(column.align)}>{_text(column.header)}</{tag}>"
    yield "</tr></thead>"
    kept = bool(table.rows) and len(table.rows[0]) < len(table.columns)
    yield f"<tbody{_class('kept' if kept else 'plain')}>"
    for i, row in enumerate(table.rows):
        if len(row) < len(table.columns):
            span = f'scope="rowgroup" colspan="{len(table.columns)}"'
            if i:
                yield '</tbody><tbody class="kept">'
            yield f'<tr class="group"><th {span}>{_text(row[0])}</th></tr>'
            continue
        yield f"<tr{_class('fill' if any(map(BLANK.fullmatch, row)) else 'plain')}>"
        for k, (cell, column) in enumerate(zip(row, table.columns, strict=True)):
            head = k == 0 and column.align == "left"
            tag, scope = ("th", ' scope="row"') if head else ("td", "")
            yield f"<{tag}{scope}{_class(column.align)}>{_text(cell)}</{tag}>"
        yield "</tr>"
    yield "</tbody></table></div>"


def _scrolls(name: str) -> str:
    """Return the attributes that let a keyboard scroll an element that may be too wide."""
    return f' tabindex="0" role="group" aria-label="{name}, scrolls sideways"'


def _class(name: str) -> str:
    return "" if name in {"plain", "left"} else f' class="{name}"'


def _text(text: str) -> str:
    return escape(safe(text))


def _quoted(text: str) -> str:
    """Return a text as a CSS string, all but letters, digits and spaces by their codes."""
    return '"' + re.sub(r"[^A-Za-z0-9 ]", lambda m: f"\\{ord(m[0]):x} ", safe(text)) + '"'
