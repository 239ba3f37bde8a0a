"""A picture in SVG 1.1 that reads on any ground: a file by itself, or in the line of a page.

Ink is `currentColor`, so that a page may turn it light; greys are ink that lets the ground through.
What has to cover what lies below it is white, and nothing else is. No style elements or attributes:
a page may forbid them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

FONT: Final = "font-family='Helvetica, Arial, sans-serif'"
INK: Final = f"{FONT} font-size='14' fill='currentColor'"
BOLD: Final = "font-weight='bold'"
PAPER: Final = "fill='white'"
"""What covers what lies below it; a page puts its own ground there."""
HALO: Final = "stroke='white' stroke-width='3' stroke-linejoin='round' paint-order='stroke'"
"""Words that stand on lines."""
GREY: Final = "fill='currentColor' fill-opacity='.68'"
"""Words that say less."""
FAINT: Final = "stroke='currentColor' stroke-opacity='.16'"
"""Lines behind what is shown."""


@dataclass(frozen=True)
class Picture:
    """A drawing of `width` × `height` px: elements of SVG, and what one who can't see it is told.

    `name` is of letters, figures and hyphens, and no other picture of a document has it: its file
    is called so, and ids within the body begin with it.
    """

    name: str
    title: str
    about: str
    width: float
    height: float
    body: tuple[str, ...]

    def file(self) -> str:
        """Return it as an SVG file, black on white."""
        ground = "<rect width='100%' height='100%' fill='white'/>"
        head = "<?xml version='1.0' encoding='UTF-8'?>"
        size = f"width='{self.width:.0f}' height='{self.height:.0f}'"
        more = f"xmlns='http://www.w3.org/2000/svg' {size} color='black'"
        return "\n".join([head, *self._lines(more, ground)]) + "\n"

    def inline(self, more: str = "") -> str:
        """Return it as an element of a page, which puts it in its own ink."""
        told = f"role='img' aria-labelledby='{self.name}-title {self.name}-about'"
        return "\n".join(self._lines(f"width='{self.width:.0f}' {told} {more}"))

    def _lines(self, more: str, *ground: str) -> Iterable[str]:
        box, name = f"viewBox='0 0 {self.width:.0f} {self.height:.0f}'", self.name
        return (
            f"<svg {more} {box} {INK}>",
            f"<title id='{name}-title'>{safe(self.title)}</title>",
            f"<desc id='{name}-about'>{safe(self.about)}</desc>",
            *ground,
            *self.body,
            "</svg>",
        )


def side_by_side(
    name: str, title: str, about: str, pictures: Sequence[Picture], across: int = 8
) -> Picture:
    """Return pictures in rows of at most `across`, each in its own place, as one."""
    rows = [pictures[k : k + across] for k in range(0, len(pictures), across)]
    body, y, wide = list[str](), 0.0, 0.0
    for row in rows:
        x = 0.0
        for picture in row:
            body += [f"<g transform='translate({x:.1f} {y:.1f})'>", *picture.body, "</g>"]
            x += picture.width
        y, wide = y + max(picture.height for picture in row), max(wide, x)
    return Picture(name, title, about, wide, y, tuple(body))


def as_name(label: str) -> str:
    """Return a label as letters, figures and hyphens, of which no two labels have the same.

    >>> as_name("15.5")
    '15-2e-5'
    """
    return "".join(c if c.isascii() and c.isalnum() else f"-{ord(c):x}-" for c in label)


def cut(words: str, letters: int, among: Iterable[str] = ()) -> str:
    """Return words, cut where they are longer than so many letters.

    Cut is the end, or where one of those `among` which they stand would read the same, so little
    nearer the beginning that none does.

    >>> cut("girdle", 6), cut("upper girdle", 6)
    ('girdle', 'upper…')
    >>> cut("girdle, upper", 8, ["girdle, upper", "girdle, lower"])
    'gird…per'
    """
    if len(words) <= letters:
        return words
    others = [one for one in among if one != words]
    for head in range(letters - 1, -1, -1):
        first, last = words[:head], words[len(words) - (letters - 1 - head) :]
        if not any(one.startswith(first) and one.endswith(last) for one in others):
            return f"{first.rstrip()}…{last.lstrip()}"
    pieces = (words[k : k + letters - 2] for k in range(len(words)))
    alone = (piece for piece in pieces if not any(piece in one for one in others))
    return f"…{next(alone, words[: letters - 2])}…"


def safe(words: str) -> str:
    """Return words as they may stand in the file."""
    return escape("".join(c if c.isprintable() else "�" for c in words))


def text(x: float, y: float, words: str, more: str = "") -> str:
    """Return a line of text at a place."""
    return f"<text x='{x:.1f}' y='{y:.1f}' {more}>{safe(words)}</text>"
