"""The picture of what each part does: stacked bars, one for each weight, a panel for each figure.

What adds is stacked upward from zero, what takes away downward; a part is linked from bar to bar.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Pictures, panels
from optimizer.paper.pictures.picture import BOLD, PAPER, Picture, cut, text
from optimizer.paper.pictures.sheet import Sheet
from optimizer.paper.pictures.small_plot import LETTER, MIDDLE, SMALL, beside, classes, small_axes
from optimizer.paper.pictures.ticks import Frame, ticks
from optimizer.paper.words import sentence_case
from optimizer.questions.line_up.frame import titled
from optimizer.questions.line_up.page import class_names
from optimizer.questions.parts.finding import Made
from optimizer.questions.parts.sums import Sum, sums

WIDE, HEIGHT, LEFT, RIGHT, TOP, TALL = 420.0, 340.0, 58.0, 290.0, 40.0, 240.0
"""px: of a panel; from its left edge to the plot's sides; down to the plot; the plot's height."""
LETTERS: Final = 17
"""Letters of a name beside the plot, before it is cut."""
BAR: Final = 0.8
"""Of a weight's slot: the width of its bar."""
SHADES: Final = (".06", ".30", ".16", ".42")
"""Opacities of the parts in turn: light enough for the figures on them."""
THICK: Final = "stroke='currentColor' stroke-width='3'"
LINK: Final = "fill='none' stroke='currentColor' stroke-opacity='.35'"


@dataclass(frozen=True)
class Piece:
    """A part's piece of a weight's bar: the weight's place, and from where it is added to where."""

    part: str
    k: int
    start: float
    end: float

    @property
    def value(self) -> float:
        """What the part adds."""
        return self.end - self.start


def parts_pictures(result: LineupResult, every: Mapping[str, Made]) -> Pictures:
    """Return a panel for each figure that the parts add up to."""
    order, names = [pour.part for pour in result.scenario.pours], class_names(result)
    return panels(
        "parts",
        f"{titled(result.scenario)}: what each part does",
        tuple(_panel(figure, every, order, names) for figure in sums(result)),
        "A bar for each weight, a piece for each part. Parts add up to the ball's weight, to the "
        "whole of each RG² and to the differential; what takes away from a differential hangs "
        "below zero, and the thick line is what is left.",
        across=2,
    )


def _panel(
    figure: Sum, every: Mapping[str, Made], order: Sequence[str], names: Mapping[str, str]
) -> Picture:
    pieces = _stacked(figure, every, order)
    least = 10.0**-figure.unit.digits * figure.unit.factor
    reach = [0.0, least, *(piece.end for piece in pieces)]
    span = 1.06 * min(reach), 1.06 * max(reach)
    frame = Frame((-0.5, len(every) - 0.5), span, (), ticks(span, figure.unit.factor))
    sheet = Sheet(frame, LEFT, RIGHT, TOP, TALL)
    title = f"{sentence_case(figure.words)}, {figure.unit.name}"
    shades = {part: SHADES[i % len(SHADES)] for i, part in enumerate(order)}
    totals = [figure.total(each) for each in every.values()]
    body = (
        text(LEFT, 22, title, f"font-size='13' {BOLD}"),
        *small_axes(sheet, (), _labels(frame.beside, figure)),
        *classes(sheet, list(every)),
        *_links(sheet, pieces),
        *(
            line
            for piece in pieces
            for line in _drawn(sheet, piece, shades[piece.part], figure, totals[piece.k])
        ),
        *_totals(sheet, totals),
        *_names(sheet, pieces, order),
    )
    about = "; ".join(
        f"{names[label]}: "
        + ", ".join(f"{part} {figure.unit.number(v)}" for part, v in figure.by_part(each).items())
        + f", together {figure.unit.number(figure.total(each))}"
        for label, each in every.items()
    )
    return Picture(f"parts-{figure.key}", title, f"{about}.", WIDE, HEIGHT, body)


def _stacked(figure: Sum, every: Mapping[str, Made], order: Sequence[str]) -> list[Piece]:
    """Return the pieces of all bars, in the order of the parts."""
    pieces = []
    for k, each in enumerate(every.values()):
        values, tops = figure.by_part(each), {True: 0.0, False: 0.0}
        for part in order:
            if part in values:
                up = values[part] >= 0.0
                pieces.append(Piece(part, k, tops[up], tops[up] + values[part]))
                tops[up] += values[part]
    return pieces


def _labels(values: Sequence[float], figure: Sum) -> list[str]:
    """Return the labels of round ticks, without digits that none needs."""
    numbers = [figure.unit.number(value, 1) for value in values]
    while all("." in number and number[-1] in "0." for number in numbers):
        numbers = [number[:-1] for number in numbers]
    return numbers


def _edges(sheet: Sheet, piece: Piece) -> tuple[float, float, float, float]:
    """Return the left, top, right and bottom of a piece, px."""
    low, high = sorted((piece.start, piece.end))
    left, top = sheet.point(piece.k - BAR / 2, high)
    right, bottom = sheet.point(piece.k + BAR / 2, low)
    return left, top, right, bottom


def _drawn(sheet: Sheet, piece: Piece, shade: str, figure: Sum, total: float) -> Iterator[str]:
    left, top, right, bottom = _edges(sheet, piece)
    size = f"width='{right - left:.1f}' height='{bottom - top:.2f}'"
    place = f"x='{left:.1f}' y='{top:.2f}' {size}"
    fill = f"fill='currentColor' fill-opacity='{shade}' stroke='currentColor' stroke-width='.8'"
    yield f"<rect {place} {PAPER}/><rect class='part' {place} {fill}/>"
    number = figure.unit.number(piece.value, -1)
    y = _clear((top + bottom) / 2, sheet.point(piece.k, total)[1])
    if top + 6.5 <= y <= bottom - 6.5 and len(number) * LETTER + 8.0 <= right - left:
        yield text((left + right) / 2, y + 4, number, MIDDLE)


def _clear(y: float, line: float) -> float:
    """Return a height for a number, off the thick line if there might be one."""
    return line + 13.0 if abs(y - line) < 11.0 else y


def _links(sheet: Sheet, pieces: Sequence[Piece]) -> Iterator[str]:
    """Yield a line from each piece's far end to that of the same part in the next bar."""
    by_place = {(piece.part, piece.k): piece for piece in pieces}
    for piece in pieces:
        following = by_place.get((piece.part, piece.k + 1))
        if following is not None and (piece.value < 0.0) == (following.value < 0.0):
            x, y = sheet.point(piece.k + BAR / 2, piece.end)
            to, down = sheet.point(following.k - BAR / 2, following.end)
            yield f"<path d='M {x:.1f},{y:.1f} L {to:.1f},{down:.1f}' {LINK}/>"


def _totals(sheet: Sheet, totals: Sequence[float]) -> Iterator[str]:
    """Yield what is left of each bar as a thick line, where something is taken away."""
    if sheet.frame.up[0] < 0.0:
        for k, total in enumerate(totals):
            x, y = sheet.point(k - BAR / 2 - 0.06, total)
            to, _ = sheet.point(k + BAR / 2 + 0.06, 0.0)
            yield f"<path class='total' d='M {x:.1f},{y:.1f} H {to:.1f}' {THICK}/>"
    x, y = sheet.point(sheet.frame.across[0], 0.0)
    yield f"<path d='M {x:.1f},{y:.1f} H {sheet.right}' stroke='currentColor'/>"


def _names(sheet: Sheet, pieces: Sequence[Piece], order: Sequence[str]) -> Iterator[str]:
    """Yield the parts' names, each led to its piece in the last bar that has it."""
    last = {piece.part: piece for piece in pieces}
    edges = [_edges(sheet, piece) for piece in last.values()]
    places = [(right, (top + bottom) / 2) for _, top, right, bottom in edges]
    for part, (x, mid), (y, line) in zip(last, places, beside(sheet, places), strict=True):
        yield f"{line}<circle cx='{x:.1f}' cy='{mid:.1f}' r='2'/>"
        yield text(sheet.right + 12, y + 4, cut(part, LETTERS, order), SMALL)
