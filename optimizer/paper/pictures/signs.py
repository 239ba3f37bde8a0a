"""Signs and dashes that distinguish a picture's points and lines without colour."""

from __future__ import annotations

from typing import Final

from optimizer.paper.pictures.picture import PAPER

DASHES: Final = ("none", "9 4", "2.5 3", "9 4 2.5 4", "16 5", "5 5", "16 5 2.5 5 2.5 5", "1.2 5")
"""Dashes of lines, in the order that they are used."""
SIGNS: Final = (
    ("M -4.5,0 a 4.5,4.5 0 1 0 9,0 a 4.5,4.5 0 1 0 -9,0 Z", True),
    ("M -4,-4 H 4 V 4 H -4 Z", False),
    ("M 0,-5 L 5,4 H -5 Z", True),
    ("M 0,-5.5 L 5.5,0 L 0,5.5 L -5.5,0 Z", False),
    ("M -4,-4 H 4 V 4 H -4 Z", True),
    ("M 0,5 L 5,-4 H -5 Z", False),
    ("M 0,-5.5 L 5.5,0 L 0,5.5 L -5.5,0 Z", True),
    ("M -4.5,0 a 4.5,4.5 0 1 0 9,0 a 4.5,4.5 0 1 0 -9,0 Z", False),
)
"""Outlines of signs, centred, and whether they are filled."""


def sign(k: int, x: float, y: float, opacity: float = 1.0, size: float = 1.0) -> str:
    """Return the k-th sign at a place; an open one hides the line below it."""
    outline, filled = SIGNS[k % len(SIGNS)]
    fill = f"fill-opacity='{opacity:g}'" if filled else PAPER
    stroke = f"stroke='currentColor' stroke-width='1.6' stroke-opacity='{opacity:g}'"
    smaller = "" if size == 1.0 else f" scale({size:.2f})"
    place = f"transform='translate({x:.1f} {y:.1f}){smaller}'"
    return f"<path class='sign' d='{outline}' {place} {fill} {stroke}/>"


def dashes(k: int) -> str:
    """Return the k-th kind of line."""
    return f"stroke-dasharray='{DASHES[k % len(DASHES)]}'"
