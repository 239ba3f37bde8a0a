"""A small plot with names beside it: frame, figures along its axes, classes, lines to the names."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from optimizer.paper.pictures.picture import FAINT, GREY, cut, text
from optimizer.paper.pictures.placing import spread
from optimizer.paper.pictures.sheet import Sheet

LETTER: Final = 6.6
"""px: how wide a letter of 11 px is taken to be."""
APART: Final = 16.0
"""px from a name to the next."""
SMALL: Final = "font-size='11'"
MIDDLE: Final = f"text-anchor='middle' {SMALL}"
LEADER: Final = "fill='none' stroke='currentColor' stroke-opacity='.4' stroke-width='.8'"

Place = tuple[float, float]
"""px across and down."""


def small_axes(sheet: Sheet, along: Sequence[str], beside: Sequence[str]) -> Iterator[str]:
    """Yield the frame of a plot and a line at every tick; `along` and `beside` are its labels."""
    top, bottom = sheet.top, sheet.top + sheet.tall
    for tick, label in zip(sheet.frame.along, along, strict=True):
        x, _ = sheet.point(tick, sheet.frame.up[0])
        yield f"<path d='M {x:.1f},{top} V {bottom + 4}' {FAINT}/>"
        yield text(x, bottom + 18, label, MIDDLE)
    for tick, label in zip(sheet.frame.beside, beside, strict=True):
        _, y = sheet.point(sheet.frame.across[0], tick)
        yield f"<path d='M {sheet.left},{y:.1f} H {sheet.right}' {FAINT}/>"
        yield text(sheet.left - 7, y + 4, label, f"text-anchor='end' {SMALL}")
    size = f"width='{sheet.right - sheet.left}' height='{sheet.tall}'"
    yield f"<rect x='{sheet.left}' y='{top}' {size} fill='none' stroke='currentColor'/>"


def classes(sheet: Sheet, labels: Sequence[str]) -> Iterator[str]:
    """Yield the weight classes below a plot, in two rows where one is too short for the labels.

    The k-th stands at k across, and the plot ends half a class beyond the first and the last.
    """
    bottom, slot = sheet.top + sheet.tall, (sheet.right - sheet.left) / len(labels)
    rows = 1 if max(map(len, labels)) * LETTER <= slot - 4 else 2
    fits = int((rows * slot - 4) / LETTER)
    for k, label in enumerate(labels):
        y = bottom + 17 + 14 * (k % rows)
        yield text(sheet.left + (k + 0.5) * slot, y, cut(label, fits, labels), MIDDLE)
    y = bottom + 24 + 14 * rows
    middle = (sheet.left + sheet.right) / 2
    yield text(middle, y, "weight class, heavy to light", f"{GREY} {MIDDLE}")


def beside(sheet: Sheet, places: Sequence[Place]) -> list[tuple[float, str]]:
    """Return for each place how far down (px) its name stands beside the plot, and a line to it.

    Names are APART, near the heights of their places; the lines end at their left.
    """
    order = sorted(range(len(places)), key=lambda k: (places[k][1], -places[k][0], k))
    ends = sheet.top + 5, sheet.top + sheet.tall - 5
    levels = spread([places[k][1] for k in order], APART, *ends)
    heights = dict(zip(order, levels, strict=True))
    return [
        (heights[k], f"<path d='M {x:.1f},{y:.1f} L {sheet.right + 8},{heights[k]:.1f}' {LEADER}/>")
        for k, (x, y) in enumerate(places)
    ]
