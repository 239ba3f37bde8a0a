"""A picture in SVG 1.1, readable on any background: a file of its own, or inline in a page.

Ink is `currentColor`, so that a page may make it light; greys are ink with opacity. Only what must
hide lines below it is white. There are no style elements or attributes: a page may forbid them.
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
"""What hides lines below it; a page replaces it by its own background."""
HALO: Final = "stroke='white' stroke-width='3' stroke-linejoin='round' paint-order='stroke'"
"""Text on top of lines."""
GREY: Final = "fill='currentColor' fill-opacity='.68'"
"""Text of less weight."""
FAINT: Final = "stroke='currentColor' stroke-opacity='.16'"
"""Lines in the background."""


@dataclass(frozen=True)
class Picture:
    """A drawing of `width` × `height` px: SVG elements, and a description for screen readers.

    `name` has letters, digits and hyphens, and is unique in a document: it names the file, and ids
    within the body begin with it.
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
        """Return it as an element of a page, in the page's ink."""
        aria = f"role='img' aria-labelledby='{self.name}-title {self.name}-about'"
        return "\n".join(self._lines(f"width='{self.width:.0f}' {aria} {more}"))

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
    """Return pictures in rows of at most `across` as one."""
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
    """Return a label as letters, digits and hyphens; different labels stay different.

    >>> as_name("15.5")
    '15-2e-5'
    """
    return "".join(c if c.isascii() and c.isalnum() else f"-{ord(c):x}-" for c in label)


def cut(words: str, letters: int, among: Iterable[str] = ()) -> str:
    """Return words, shortened if they are longer than `letters`.

    They lose their end or, if they then read like others in `among`, letters as close to the end as
    makes them differ.

    >>> cut("girdle", 6), cut("upper girdle", 6)
    ('girdle', 'upper…')
    >>> cut("girdle, upper", 8, ["girdle, upper", "girdle, lower"])
    'gird…per'
    """
    if len(words) <= letters:
        return words
    others = [label for label in among if label != words]
    for head in range(letters - 1, -1, -1):
        first, last = words[:head], words[len(words) - (letters - 1 - head) :]
        if not any(label.startswith(first) and label.endswith(last) for label in others):
            return f"{first.rstrip()}…{last.lstrip()}"
    pieces = (words[k : k + letters - 2] for k in range(len(words)))
    unique = (piece for piece in pieces if not any(piece in label for label in others))
    return f"…{next(unique, words[: letters - 2])}…"


def safe(words: str) -> str:
    """Return words escaped for the file."""
    return escape("".join(c if c.isprintable() else "�" for c in words))


def text(x: float, y: float, words: str, more: str = "") -> str:
    """Return a line of text at a place."""
    return f"<text x='{x:.1f}' y='{y:.1f}' {more}>{safe(words)}</text>"
