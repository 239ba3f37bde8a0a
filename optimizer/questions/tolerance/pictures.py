"""The pictures of a spread: where balls lie in the plane, and what makes the spread."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from optimizer.paper.pictures.picture import BOLD, GREY, PAPER, Picture, cut, text
from optimizer.paper.pictures.sheet import LEFT, LINE, RIGHT, TOP, Sheet, drawing
from optimizer.paper.pictures.ticks import Frame, ticks, wider
from optimizer.paper.quantities import Units
from optimizer.paper.words import POINT, plural
from optimizer.questions.line_up.frame import titled
from optimizer.questions.tolerance.finding import HELD, LineSpread
from optimizer.questions.tolerance.words import percent
from optimizer.questions.window.picture import DASHES
from shared.rounding import fixed

SHADES = dict(zip(HELD, (".20", ".10", ".05"), strict=True))
THICK = "stroke='currentColor' stroke-width='2.5'"
LEAST = 0.005
"""A smaller share of a variance has no bar of its own."""
BAR, ROW = 330.0, 22.0
"""px: a bar of 100 %; from one row to the next."""


def cloud_picture(found: LineSpread, names: Mapping[str, str]) -> Picture:
    """Return where each weight's balls lie, as ellipses, and the target's tolerances."""
    held = ", ".join(f"{100 * share:.0f}" for share in HELD)
    about = " ".join(
        f"{names[weight.label]}: {percent(weight.good)} good." for weight in found.weights
    )
    return drawing(
        "spread-cloud",
        f"{titled(found.scenario)}: where cast balls lie",
        about,
        f"about {POINT[found.scenario.about]}; each weight's ellipses hold {held} % of its "
        "simulated balls, whatever their weight",
        _cloud(found, names),
    )


def _cloud(found: LineSpread, names: Mapping[str, str]) -> Iterator[str]:
    unit = Units.of(found.scenario).rg
    corners = np.concatenate([cloud.outline(HELD[-1]) for cloud in found.clouds])
    bands = [
        {band.figure: band for band in weight.bands if band.rule is None}
        for weight in found.weights
    ]
    boxes = [
        (own["low RG"], own["differential"])
        for own in bands
        if {"low RG", "differential"} <= {*own}
    ]
    if boxes:
        rg, differential = boxes[0]
        ends = [[rg.low, differential.low], [rg.high, differential.high]]
        corners = np.concatenate([corners, np.array(ends)])
    (left, low), (right, high) = corners.min(axis=0), corners.max(axis=0)
    across = wider((float(left), float(right)), 0.0)
    up = wider((float(low), float(high)), 0.0)
    sheet = Sheet(Frame(across, up, ticks(across, unit.factor), ticks(up, unit.factor)))
    finer = unit.finer(1).number
    names_of = f"low RG, {unit.name}", f"differential, {unit.name}"
    yield from sheet.axes(names_of[0], finer, names_of[1], finer)
    for k, cloud in enumerate(found.clouds):
        for share in reversed(HELD):
            d = sheet.path(cloud.outline(share), closed=True)
            ink = f"fill='currentColor' fill-opacity='{SHADES[share] if not k else 0}'"
            line = f"stroke='currentColor' stroke-opacity='.8' stroke-dasharray='{DASHES[k % 8]}'"
            yield f"<path class='cloud' d='{d}' {ink} {line} stroke-width='1.3'/>"
    if boxes:
        x, y = sheet.point(ends[0][0], ends[1][1])
        x1, y1 = sheet.point(ends[1][0], ends[0][1])
        size = f"width='{x1 - x:.1f}' height='{y1 - y:.1f}'"
        yield f"<rect class='target' x='{x:.1f}' y='{y:.1f}' {size} fill='none' {THICK}/>"
    x, y = RIGHT + 24, TOP + 14
    for k, (cloud, weight) in enumerate(zip(found.clouds, found.weights, strict=True)):
        yield (
            f"<path d='M {x},{y - 5:.1f} h 40' fill='none' stroke='currentColor' "
            f"stroke-dasharray='{DASHES[k % 8]}' stroke-width='1.6'/>"
        )
        yield text(x + 52, y, f"{names[cloud.label]}: {percent(weight.good)} good")
        y += LINE + 2
    if boxes:
        yield f"<rect x='{x}' y='{y - 13:.1f}' width='40' height='15' {PAPER} {THICK}/>"
        yield text(x + 52, y, "target's tolerances")


def shares_picture(found: LineSpread) -> Picture:
    """Return each input's share of the variance of each figure that the target asks for."""
    figures = list(
        dict.fromkeys(
            band.figure for weight in found.weights for band in weight.bands if band.rule is None
        )
    )
    rows: list[tuple[str, list[tuple[str, float, float, float]]]] = []
    for figure in figures:
        lines = []
        for input_ in found.inputs.each:
            shares = [
                float(weight.shares[figure][k])
                for weight in found.weights
                for k, own in enumerate(weight.model.inputs)
                if own is input_
            ]
            mean = sum(shares) / len(shares)
            lines.append((input_.name, mean, min(shares), max(shares)))
        told = sorted((line for line in lines if line[3] >= LEAST), key=lambda line: -line[1])
        if few := [mean for _, mean, _, most in lines if most < LEAST]:
            name = plural(len(few), "other")
            told.append((f"{name}, together", sum(few), sum(few), sum(few)))
        rows.append((figure, told))
    about = " ".join(
        f"{figure}: "
        + ", ".join(f"{name} {fixed(100 * mean, 0)} %" for name, mean, _, _ in lines)
        + "."
        for figure, lines in rows
    )
    count = sum(len(lines) + 2 for _, lines in rows)
    return drawing(
        "spread-shares",
        f"{titled(found.scenario)}: what makes the spread",
        about,
        "each input's share of a figure's variance, to first order: the mean over the weights; the "
        "thin line spans them",
        _bars(rows),
        below=TOP + ROW * count,
        listed=("", ()),
    )


def _bars(rows: list[tuple[str, list[tuple[str, float, float, float]]]]) -> Iterator[str]:
    y, left = TOP + 20, LEFT + 230
    for figure, lines in rows:
        yield text(LEFT, y, figure, BOLD)
        y += ROW
        for name, mean, least, most in lines:
            yield text(left - 10, y, cut(name, 32), "text-anchor='end'")
            yield (
                f"<rect x='{left}' y='{y - 12:.1f}' width='{max(BAR * mean, 0.5):.1f}' height='14' "
                "fill='currentColor' fill-opacity='.3'/>"
            )
            ends = left + BAR * least, left + BAR * most
            yield f"<path d='M {ends[0]:.1f},{y - 5:.1f} H {ends[1]:.1f}' stroke='currentColor'/>"
            yield text(left + BAR * most + 8, y, f"{fixed(100 * mean, 0)} %", GREY)
            y += ROW
        y += ROW
