"""Parts × weights: each density as a cell of its colour, with its place in its range as a bar."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.linear.maps import Pour
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.report.document import Pictures
from optimizer.report.pictures.cividis import Scale, scale_of
from optimizer.report.pictures.picture import BOLD, GREY, Picture, text
from optimizer.report.pictures.strip import at_limit, densities
from optimizer.report.quantities import Units
from optimizer.report.solution.page import class_names

CELL_WIDE, CELL_TALL, GAP = 92.0, 46.0, 4.0
TOP: Final = 34.0
LETTER: Final = 6.6
MARGIN: Final = 8.0
"""px; and within a cell, to both ends of its bar."""


def heat(result: LineupResult) -> Pictures:
    """Return the densities of a line as a table of cells, on the colours of its sections."""
    units, names = Units.of(result.scenario), class_names(result)
    colours, pours = scale_of(densities([result])), result.weights[0].ball.map.pours
    ranges = [range_words(pour, units) for pour in pours]
    words = [f"{pour.part} ({pour.material})" for pour in pours]
    left = MARGIN + LETTER * max(map(len, (*ranges, *words))) + 10
    body, told = list[str](), list[str]()
    for k, weight in enumerate(result.weights):
        x = left + k * CELL_WIDE
        middle = f"text-anchor='middle' {BOLD}"
        body.append(text(x + (CELL_WIDE - GAP) / 2, TOP - 12, names[weight.label], middle))
    for i, pour in enumerate(pours):
        y = TOP + i * CELL_TALL
        body.append(text(MARGIN, y + 17, words[i], "font-size='12'"))
        body.append(text(MARGIN, y + 33, ranges[i], f"font-size='11' {GREY}"))
        for k, weight in enumerate(result.weights):
            body += _cell(weight, i, (left + k * CELL_WIDE, y), colours, units)
        values = ", ".join(
            f"{names[w.label]} {units.density.number(float(w.ball.densities[i]))}"
            for w in result.weights
        )
        told.append(f"{pour.part}, {ranges[i]}: {values}")
    picture = Picture(
        "densities",
        f"{result.scenario.name}, revision {result.scenario.revision}: densities, "
        f"{units.density.name}",
        "; ".join(told) + ".",
        left + len(result.weights) * CELL_WIDE + MARGIN,
        TOP + len(pours) * CELL_TALL + MARGIN,
        tuple(body),
    )
    return Pictures(
        picture,
        f"Densities in {units.density.name}, coloured as in the sections. The bar in a cell is the "
        "range that can be poured, from its least at the left to its most at the right; the "
        "diamond is where the density lies.",
    )


def range_words(pour: Pour, units: Units) -> str:
    """Return what can be poured, in numbers."""
    unit = units.density
    if pour.fixed:
        return f"fixed at {unit.number(pour.low)}"
    return f"{unit.number(pour.low)} to {unit.number(pour.high)}"


def _cell(
    weight: WeightResult, i: int, place: tuple[float, float], colours: Scale, units: Units
) -> Iterator[str]:
    (x, y), pour = place, weight.ball.map.pours[i]
    density = float(weight.ball.densities[i])
    wide, tall, ink = CELL_WIDE - GAP, CELL_TALL - GAP, colours.ink(density)
    box = f"x='{x:.1f}' y='{y:.1f}' width='{wide:.1f}' height='{tall:.1f}'"
    yield f"<rect class='cell' {box} fill='{colours.colour(density)}' stroke='currentColor'/>"
    yield f"<g fill='{ink}' stroke='none'>"
    said = units.density.number(density)
    yield text(x + wide / 2, y + 17, said, "font-size='13' text-anchor='middle'")
    end = at_limit(weight, pour.part, units)
    if pour.fixed or end:
        words = end or "fixed"
        yield text(x + wide / 2, y + 36, words, "font-size='11' text-anchor='middle'")
    else:
        a, b, level = x + MARGIN, x + wide - MARGIN, y + 31
        ticks = f"M {a:.1f},{level - 4} v 8 M {a:.1f},{level} H {b:.1f} M {b:.1f},{level - 4} v 8"
        yield f"<path d='{ticks}' fill='none' stroke='{ink}'/>"
        at = a + (density - pour.low) / (pour.high - pour.low) * (b - a)
        yield f"<path class='at' d='M {at:.2f},{level - 5} l 4,5 l -4,5 l -4,-5 Z'/>"
    yield "</g>"
