"""Windows as a picture (SVG 1.1): outlines in dashes of their own, the shared region filled.

In black and grey only, to be printed on any paper; the edges of the shared region carry numbers,
and a list below names the limits that make them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html import escape

import numpy as np

from optimizer.report.edges import told_edges
from optimizer.report.quantities import Units
from optimizer.report.ticks import Frame, frame_of, target_box
from optimizer.report.window_page import window_names
from optimizer.report.words import POINT
from optimizer.studies.window import Window
from shared.arrays import Array

WIDTH, LEFT, RIGHT, TOP, TALL = 960.0, 92.0, 730.0, 84.0, 440.0
"""px: of the sheet; from its left edge to the plot's sides; down to the plot; the plot's height."""
FILLED = "fill='#d0d0d0' stroke='black' stroke-width='3'"
BOX = "fill='white' fill-opacity='0.6' stroke='black'"
BOLD = "font-weight='bold'"
DASHES = ("none", "10 4", "2.5 3", "10 4 2.5 4", "18 5", "5 5", "18 5 2.5 5 2.5 5", "1.2 5")
LINE = 20.0
"""px from one line of text to the next."""
FONT = "font-family='Helvetica, Arial, sans-serif'"


@dataclass(frozen=True)
class Sheet:
    """Where figures (cm) stand on the sheet."""

    frame: Frame

    def at(self, points: Array) -> Array:
        """Return points (k, 2) of (RG, differential) as places on the sheet, px."""
        (a, b), (c, d) = self.frame.rg, self.frame.differential
        x = LEFT + (points[:, 0] - a) / (b - a) * (RIGHT - LEFT)
        y = TOP + (d - points[:, 1]) / (d - c) * TALL
        return np.column_stack([x, y])

    def path(self, points: Array, *, closed: bool) -> str:
        """Return a path's data through points."""
        places = [f"{x:.2f},{y:.2f}" for x, y in self.at(points).tolist()]
        return f"M {' L '.join(places)}{' Z' if closed else ''}"


def window_picture(found: Window) -> str:
    """Return the picture as SVG text."""
    names, units = window_names(found), Units.of(found.scenario)
    edges = list(told_edges(found.common, names))
    listed = [words for _, words in edges]
    height = TOP + TALL + 84 + LINE * (len(listed) + (2 if listed else 0))
    size = f"width='{WIDTH:.0f}' height='{height:.0f}'"
    box = f"viewBox='0 0 {WIDTH:.0f} {height:.0f}'"
    lines = [
        "<?xml version='1.0' encoding='UTF-8'?>",
        f"<svg xmlns='http://www.w3.org/2000/svg' {size} {box} {FONT} font-size='14'>",
        f"<title>{_safe(found.scenario.name)}: low RG and differential within reach</title>",
        "<rect width='100%' height='100%' fill='white'/>",
        *_title(found),
    ]
    if any(one.alone.bands for one in found.weights):
        sheet = Sheet(frame_of(found, units))
        lines += [
            *_axes(sheet, units),
            *_regions(sheet, found),
            *_target(sheet, found),
            *_numbers(sheet, [points for points, _ in edges]),
        ]
    else:
        lines.append(_text(LEFT, TOP + 40, "No weight can be made: there is no window to draw."))
    lines += [*_legend(found, names), *_list(listed), "</svg>"]
    return "\n".join(lines) + "\n"


def _safe(text: str) -> str:
    return escape("".join(c if c.isprintable() else "�" for c in text))


def _text(x: float, y: float, text: str, more: str = "") -> str:
    return f"<text x='{x:.1f}' y='{y:.1f}' {more}>{_safe(text)}</text>"


def _title(found: Window) -> Iterator[str]:
    scenario = found.scenario
    yield _text(
        LEFT,
        34,
        f"{scenario.name}, revision {scenario.revision}: low RG and differential within reach",
        "font-size='18' font-weight='bold'",
    )
    proof = "" if found.common.proven else "; the shared region is as found, not proven"
    yield _text(
        LEFT,
        58,
        f"about {POINT[scenario.about]}; class weights met, limits kept; shapes as drawn{proof}",
        "fill='#444'",
    )


def _axes(sheet: Sheet, units: Units) -> Iterator[str]:
    frame, bottom = sheet.frame, TOP + TALL
    for tick in frame.along:
        x = sheet.at(np.array([[tick, frame.differential[0]]]))[0, 0]
        yield f"<path d='M {x:.1f},{TOP} V {bottom + 5}' stroke='#ddd'/>"
        yield _text(x, bottom + 22, units.rg.number(tick), "text-anchor='middle'")
    for tick in frame.up:
        y = sheet.at(np.array([[frame.rg[0], tick]]))[0, 1]
        yield f"<path d='M {LEFT - 5},{y:.1f} H {RIGHT}' stroke='#ddd'/>"
        yield _text(LEFT - 10, y + 5, units.rg.number(tick), "text-anchor='end'")
    box = f"x='{LEFT}' y='{TOP}' width='{RIGHT - LEFT}' height='{TALL}'"
    yield f"<rect {box} fill='none' stroke='black'/>"
    yield _text((LEFT + RIGHT) / 2, bottom + 46, f"low RG, {units.rg.name}", "text-anchor='middle'")
    middle = TOP + TALL / 2
    turned = f"text-anchor='middle' transform='rotate(-90 28 {middle})'"
    yield _text(28, middle, f"differential, {units.rg.name}", turned)


def _regions(sheet: Sheet, found: Window) -> Iterator[str]:
    for band in found.common.bands:
        d = sheet.path(band.outline, closed=True)
        yield f"<path class='shared' d='{d}' {FILLED} stroke-linejoin='round'/>"
    for k, one in enumerate(found.weights):
        for band in one.alone.bands:
            d = sheet.path(band.outline, closed=True)
            yield f"<path class='window' d='{d}' fill='none' {_stroke(k)}/>"
            if len(band.outline) == 1:
                (x, y), *_ = sheet.at(band.outline).tolist()
                yield f"<circle cx='{x:.1f}' cy='{y:.1f}' r='4' fill='white' stroke='black'/>"
                yield _text(x + 8, y - 6, one.map.label)


def _stroke(k: int) -> str:
    return f"stroke='#333' stroke-width='1.6' stroke-dasharray='{DASHES[k % len(DASHES)]}'"


def _target(sheet: Sheet, found: Window) -> Iterator[str]:
    box = target_box(found)
    if box is None:
        return
    (left, bottom), (right, top) = sheet.at(np.array(box).T).tolist()
    x, y = (left + right) / 2, (top + bottom) / 2
    size = f"width='{right - left:.1f}' height='{bottom - top:.1f}'"
    yield f"<rect x='{left:.1f}' y='{top:.1f}' {size} {BOX}/>"
    diamond = f"M {x:.1f},{y - 6:.1f} l 6,6 l -6,6 l -6,-6 Z"
    yield f"<path class='target' d='{diamond}' fill='black'/>"


def _numbers(sheet: Sheet, edges: list[Array]) -> Iterator[str]:
    """Yield a number beside the middle of each edge of the shared region, on its outer side."""
    for n, points in enumerate(edges, start=1):
        places = sheet.at(points)
        x, y, along = _middle(places)
        out = np.array([-along[1], along[0]])  # y runs down, so counter-clockwise has it outside
        x, y = x + 15 * out[0], y + 15 * out[1]
        x = min(max(x, LEFT + 10), RIGHT - 10)
        y = min(max(y, TOP + 10), TOP + TALL - 10)
        yield f"<circle cx='{x:.1f}' cy='{y:.1f}' r='9' fill='white' stroke='black'/>"
        yield _text(x, y + 4, str(n), "text-anchor='middle' font-size='12'")


def _middle(places: Array) -> tuple[float, float, Array]:
    """Return the middle of a chain by its length, and its direction there."""
    steps = np.diff(places, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    gone = np.concatenate([[0.0], np.cumsum(lengths)])
    half = gone[-1] / 2
    k = int(np.clip(np.searchsorted(gone, half) - 1, 0, len(steps) - 1))
    part = (half - gone[k]) / lengths[k]
    x, y = (places[k] + part * steps[k]).tolist()
    return x, y, np.asarray(steps[k] / lengths[k])


def _legend(found: Window, names: Mapping[str, str]) -> Iterator[str]:
    x, y = RIGHT + 24, TOP + 14
    for k, one in enumerate(found.weights):
        yield f"<path d='M {x},{y - 5:.1f} h 52' {_stroke(k)}/>"
        none = "" if one.alone.bands else ": none" if one.alone.known else ": not found"
        proof = "" if one.alone.proven or none else " (found)"
        yield _text(x + 62, y, f"{names[one.map.label]}{none}{proof}")
        y += LINE + 4
    if found.common.bands:
        yield f"<rect x='{x}' y='{y - 14:.1f}' width='52' height='16' {FILLED}/>"
        yield _text(x + 62, y, "all weights")
    else:
        yield _text(x, y, "shared by all: none" if found.common.proven else "shared: none found")
    y += LINE + 4
    if found.scenario.target is not None:
        yield f"<rect x='{x + 14}' y='{y - 15:.1f}' width='24' height='20' {BOX}/>"
        yield f"<path d='M {x + 26},{y - 11:.1f} l 6,6 l -6,6 l -6,-6 Z'/>"
        yield _text(x + 62, y, "target ± tolerance")


def _list(edges: list[str]) -> Iterator[str]:
    y = TOP + TALL + 84
    if edges:
        yield _text(
            LEFT,
            y,
            "Edges of the shared region, and the limits that make them",
            "font-weight='bold'",
        )
    for n, words in enumerate(edges, start=1):
        y += LINE
        yield _text(LEFT + 16, y, str(n), "text-anchor='end'")
        yield _text(LEFT + 28, y, words)
