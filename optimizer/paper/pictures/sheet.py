"""A picture as a sheet with plots: a title, axes, and a numbered list below."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from textwrap import wrap

import numpy as np

from optimizer.paper.pictures.picture import BOLD, FAINT, GREY, PAPER, Picture, text
from optimizer.paper.pictures.ticks import Frame
from shared.arrays import Array

WIDTH, LEFT, RIGHT, TOP, TALL = 960.0, 92.0, 730.0, 84.0, 440.0
"""px: of the sheet; from its left edge to the plot's sides; down to the plot; the plot's height."""
LINE = 20.0
"""px from one line of text to the next."""
BELOW = TOP + TALL + 84
"""px down to the list below the plot and its axis."""
TITLE = 80
"""The most characters of a title at its full size; a longer one is set smaller."""
WRAP = 105
"""The most characters in a line of the list."""

Number = Callable[[float], str]


@dataclass(frozen=True)
class Sheet:
    """The scale of the plot on the sheet, and the plot's sides (px)."""

    frame: Frame
    left: float = LEFT
    right: float = RIGHT
    top: float = TOP
    tall: float = TALL

    def at(self, points: Array) -> Array:
        """Return points (k, 2), across and up, as places on the sheet, px."""
        (a, b), (c, d) = self.frame.across, self.frame.up
        x = self.left + (points[:, 0] - a) / (b - a) * (self.right - self.left)
        y = self.top + (d - points[:, 1]) / (d - c) * self.tall
        return np.column_stack([x, y])

    def point(self, across: float, up: float) -> tuple[float, float]:
        """Return one point's place on the sheet, px."""
        ((x, y),) = self.at(np.array([[across, up]])).tolist()
        return x, y

    def path(self, points: Array, *, closed: bool) -> str:
        """Return a path's data through points."""
        places = [f"{x:.2f},{y:.2f}" for x, y in self.at(points).tolist()]
        return f"M {' L '.join(places)}{' Z' if closed else ''}"

    def axes(self, across: str, along: Number, up: str, beside: Number) -> Iterator[str]:
        """Yield the plot's frame and axes, from their names and the formats of their figures."""
        frame, bottom = self.frame, self.top + self.tall
        left, right = self.left, self.right
        for tick in frame.along:
            x, _ = self.point(tick, frame.up[0])
            yield f"<path d='M {x:.1f},{self.top} V {bottom + 5}' {FAINT}/>"
            yield text(x, bottom + 22, along(tick), "text-anchor='middle'")
        for tick in frame.beside:
            _, y = self.point(frame.across[0], tick)
            yield f"<path d='M {left - 5},{y:.1f} H {right}' {FAINT}/>"
            yield text(left - 10, y + 5, beside(tick), "text-anchor='end'")
        box = f"x='{left}' y='{self.top}' width='{right - left}' height='{self.tall}'"
        yield f"<rect {box} fill='none' stroke='currentColor'/>"
        yield text((left + right) / 2, bottom + 46, across, "text-anchor='middle'")
        name, middle = left - 64, self.top + self.tall / 2
        turned = f"text-anchor='middle' transform='rotate(-90 {name} {middle})'"
        yield text(name, middle, up, turned)


def drawing(
    name: str,
    title: str,
    about: str,
    under: str,
    body: Iterable[str],
    *,
    listed: tuple[str, Sequence[str]] = ("", ()),
    below: float = BELOW,
) -> Picture:
    """Return a sheet: title, a line or two `under` it, `body`, and a numbered list below.

    `listed` are the list's heading and its lines, which start at `below`, px. `title` and `about`
    describe the sheet to screen readers.
    """
    heading, items = listed
    beneath = wrap(under, WRAP)
    rows = [(n, wrap(line, WRAP)) for n, line in enumerate(items, start=1)]
    height = below + LINE * (sum(len(pieces) for _, pieces in rows) + (2 if rows else 0))
    lines = (
        text(LEFT, 34, title, f"font-size='{min(18.0, 18 * TITLE / len(title)):.3g}' {BOLD}"),
        *(
            text(LEFT, 58 + (k - (len(beneath) - 1) / 2) * 16, words, GREY)
            for k, words in enumerate(beneath)
        ),
        *body,
        *([text(LEFT, below, heading, BOLD)] if rows else ()),
        *_list(rows, below),
    )
    return Picture(name, title, about, WIDTH, height, lines)


def _list(rows: Iterable[tuple[int, Sequence[str]]], y: float) -> Iterator[str]:
    for n, pieces in rows:
        yield text(LEFT + 16, y + LINE, str(n), "text-anchor='end'")
        for words in pieces:
            y += LINE
            yield text(LEFT + 28, y, words)


def numbered(x: float, y: float, n: int) -> Iterator[str]:
    """Yield a number in a circle."""
    yield f"<circle cx='{x:.1f}' cy='{y:.1f}' r='9' {PAPER} stroke='currentColor'/>"
    yield text(x, y + 4, str(n), "text-anchor='middle' font-size='12'")
