"""Windows as a picture: each outline in its own dashes, the shared region filled.

The edges of the shared region are numbered, and a list below names the limits that make them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.paper.pictures.picture import HALO, PAPER, Picture, text
from optimizer.paper.pictures.sheet import LEFT, LINE, RIGHT, TALL, TOP, Sheet, drawing, numbered
from optimizer.paper.quantities import Units
from optimizer.paper.words import POINT, plural
from optimizer.questions.line_up.frame import titled
from optimizer.questions.window.edges import long_edges
from optimizer.questions.window.frame import frame_of, target_box
from optimizer.questions.window.page import held_words
from optimizer.questions.window.window import Window
from shared.arrays import Array

FILLED = "fill='currentColor' fill-opacity='.18' stroke='currentColor' stroke-width='3'"
BOX = f"{PAPER} fill-opacity='.6' stroke='currentColor'"
OUTLINE = "stroke='currentColor' stroke-opacity='.8' stroke-width='1.6'"
EDGE = "stroke='currentColor' stroke-width='1.6'"
DASHES = ("none", "10 4", "2.5 3", "10 4 2.5 4", "18 5", "5 5", "18 5 2.5 5 2.5 5", "1.2 5")


@dataclass(frozen=True)
class Spot:
    """A ball's place in the plane, cm, and its name."""

    name: str
    rg: float
    differential: float


def window_picture(window: Window, balls: Sequence[Spot] = ()) -> Picture:
    """Return the picture; `balls` that miss the target are marked, too."""
    scenario, edges = window.scenario, list(long_edges(window.common, window.names))
    proof = "" if window.common.bounded else "; the shared region is as found, not proven"
    about = f"about {POINT[scenario.about]}{held_words(window)}"
    shared = "a region that all share" if window.common.bands else "none that all share"
    return drawing(
        "window",
        f"{titled(scenario)}: low RG and differential within reach",
        f"Outlines for {plural(len(window.weights), 'weight')}, and {shared}.",
        f"{about}; class weights met, limits kept; shapes as drawn{proof}",
        _body(window, [points for points, _ in edges], balls),
        listed=(
            "Edges of the shared region, and the limits that make them",
            [words for _, words in edges],
        ),
    )


def _body(window: Window, edges: list[Array], balls: Sequence[Spot]) -> Iterator[str]:
    unit = Units.of(window.scenario).rg
    if any(weight.alone.bands for weight in window.weights):
        places = np.array([[ball.rg, ball.differential] for ball in balls]).reshape(-1, 2)
        sheet = Sheet(frame_of(window, places))
        yield from sheet.axes(
            f"low RG, {unit.name}", unit.number, f"differential, {unit.name}", unit.number
        )
        yield from _regions(sheet, window)
        yield from _target(sheet, window)
        yield from _numbers(sheet, edges)
        if balls:
            yield from _balls(sheet, balls, places, window)
    else:
        none = all(weight.alone.none for weight in window.weights)
        why = "No weight can be made exactly" if none else "No window was found"
        yield text(LEFT, TOP + 40, f"{why}: there is nothing to draw.")
    yield from _legend(window, nearest=bool(balls))


def _regions(sheet: Sheet, window: Window) -> Iterator[str]:
    for band in window.common.bands:
        d = sheet.path(band.outline, closed=True)
        yield f"<path class='shared' d='{d}' {FILLED} stroke-linejoin='round'/>"
    for k, weight in enumerate(window.weights):
        for band in weight.alone.bands:
            d = sheet.path(band.outline, closed=True)
            yield f"<path class='window' d='{d}' fill='none' {_stroke(k)}/>"
            if len(band.outline) == 1:
                x, y = sheet.point(*band.outline[0])
                yield f"<circle cx='{x:.1f}' cy='{y:.1f}' r='4' {PAPER} stroke='currentColor'/>"
                yield text(x + 8, y - 6, weight.map.label)


def _stroke(k: int) -> str:
    return f"{OUTLINE} stroke-dasharray='{DASHES[k % len(DASHES)]}'"


def _target(sheet: Sheet, window: Window) -> Iterator[str]:
    box = target_box(window)
    if box is None:
        return
    (left, bottom), (right, top) = sheet.at(np.array(box).T).tolist()
    x, y = (left + right) / 2, (top + bottom) / 2
    size = f"width='{right - left:.1f}' height='{bottom - top:.1f}'"
    yield f"<rect x='{left:.1f}' y='{top:.1f}' {size} {BOX}/>"
    diamond = f"M {x:.1f},{y - 6:.1f} l 6,6 l -6,6 l -6,-6 Z"
    yield f"<path class='target' d='{diamond}'/>"


def _balls(sheet: Sheet, balls: Sequence[Spot], places: Array, window: Window) -> Iterator[str]:
    """Yield a triangle for each ball, its name on the target's side, names spread out."""
    aim = target_box(window)
    left = aim is not None and bool(np.mean(places[:, 0]) > np.mean(aim[0]))
    beside, anchor = (-11, "end") if left else (11, "start")
    last = -np.inf
    for ball in sorted(balls, key=lambda ball: -ball.differential):
        x, y = sheet.point(ball.rg, ball.differential)
        yield f"<path class='ball' d='M {x:.1f},{y - 6:.1f} l 6,11 h -12 Z' {PAPER} {EDGE}/>"
        last = max(y + 5, last + 15)
        yield text(x + beside, last, ball.name, f"font-size='12' text-anchor='{anchor}' {HALO}")


def _numbers(sheet: Sheet, edges: list[Array]) -> Iterator[str]:
    """Yield a number beside the middle of each edge of the shared region, on its outer side."""
    for n, points in enumerate(edges, start=1):
        places = sheet.at(points)
        x, y, along = _middle(places)
        out = np.array([-along[1], along[0]])  # y runs down, so counter-clockwise has it outside
        x, y = x + 15 * out[0], y + 15 * out[1]
        x = min(max(x, LEFT + 10), RIGHT - 10)
        y = min(max(y, TOP + 10), TOP + TALL - 10)
        yield from numbered(x, y, n)


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


def _legend(window: Window, *, nearest: bool) -> Iterator[str]:
    x, y = RIGHT + 24, TOP + 14
    for k, weight in enumerate(window.weights):
        yield f"<path d='M {x},{y - 5:.1f} h 52' {_stroke(k)}/>"
        if weight.alone.proven:
            how = "" if weight.alone.bands else ": none"
        else:
            how = " (found)" if weight.alone.bands else ": none found"
        yield text(x + 62, y, f"{weight.map.name}{how}")
        y += LINE + 4
    if window.common.bands:
        yield f"<rect x='{x}' y='{y - 14:.1f}' width='52' height='16' {FILLED}/>"
        yield text(x + 62, y, "all weights")
    else:
        yield text(x, y, "shared by all: none" if window.common.proven else "shared: none found")
    y += LINE + 4
    if window.scenario.target:
        yield f"<rect x='{x + 14}' y='{y - 15:.1f}' width='24' height='20' {BOX}/>"
        yield f"<path d='M {x + 26},{y - 11:.1f} l 6,6 l -6,6 l -6,-6 Z'/>"
        yield text(x + 62, y, "target ± tolerance")
        y += LINE + 4
    if nearest:
        yield f"<path d='M {x + 26},{y - 13:.1f} l 6,11 h -12 Z' {PAPER} {EDGE}/>"
        yield text(x + 62, y, "nearest ball")
