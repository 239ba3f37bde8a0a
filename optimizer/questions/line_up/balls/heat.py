"""A table of parts and weights: every density in its colour, and its place in its range."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.ball.sought import Pour
from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Pictures
from optimizer.paper.pictures.picture import BOLD, GREY, Picture, cut, text
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import nearest_line
from optimizer.questions.line_up.balls.densities import Poured, Scale, density_scale, poured
from optimizer.questions.line_up.frame import titled
from optimizer.questions.line_up.page import class_names

LEFT, TOP = 14.0, 84.0
"""px to the left margin and down to the first row."""
LETTER, LETTERS = 7.2, 29
"""px of a letter of 12 px; letters in a part's name, at most."""
WIDE, TALL, APART = 112.0, 52.0, 3.0
"""px of a cell, and between two."""
SIDE = 10.0
"""px from a cell's sides to the ends of the range."""
BAR = 300.0
"""px of the scale."""
SMALL, LITTLE, MIDDLE = "font-size='12'", "font-size='11'", "text-anchor='middle'"
CAPTION = (
    "A cell's colour is the density, dark to light. The line in it spans what can be poured, and "
    "the bar ends at the density; a triangle marks a density at the end of its range."
)
NOT_HERE = ("not in", "this weight")
"""The two lines in an empty cell."""
BARS = "bar: where each stands in its range"
Row = tuple[Poured | None, ...]
"""A part's density in each weight, None in a weight without the part."""


def heat(result: LineupResult, span: Scale | None = None, name: str = "densities") -> Pictures:
    """Return the table; `span` is the scale where several line-ups share one."""
    units, scale = Units.of(result.scenario), span or density_scale(result)
    labels = list(class_names(result).values())
    balls = [{each.pour.part: each for each in poured(w, units)} for w in result.weights]
    pours = result.scenario.pours
    rows: list[Row] = [tuple(ball.get(pour.part) for ball in balls) for pour in pours]
    names = [pour.part for pour in pours]
    heads = [(cut(pour.part, LETTERS, names), _range(pour, units.density)) for pour in pours]
    left = LEFT + 12 + LETTER * max(len(words) for head in heads for words in head)
    right = left + (WIDE + APART) * len(labels) - APART
    below = TOP + (TALL + APART) * len(rows) + 16
    body = [
        text(LEFT, 24, f"Densities, {units.density.name}", f"font-size='16' {BOLD}"),
        text(LEFT, 45, nearest_line(result.status).strip() or BARS, f"{SMALL} {GREY}"),
        *scale.bar((LEFT, below), BAR, units.density, f"{name}-scale"),
    ]
    for k, label in enumerate(labels):
        body.append(text(left + (WIDE + APART) * k + WIDE / 2, TOP - 10, label, f"{BOLD} {MIDDLE}"))
    lines = list[str]()
    for n, (pour, row, (head, under)) in enumerate(zip(pours, rows, heads, strict=True)):
        y = TOP + (TALL + APART) * n
        body += [text(LEFT, y + 22, head, f"{SMALL} {BOLD}"), text(LEFT, y + 40, under, SMALL)]
        for k, cell in enumerate(row):
            place = (left + (WIDE + APART) * k, y)
            body += _gap(place) if cell is None else _cell(cell, place, scale)
        lines.append(_line(pour, row, labels, units.density))
    title = f"{titled(result.scenario)}: densities of the parts in each weight"
    nearest = nearest_line(result.status)
    wide = max(right, LEFT + BAR, LEFT + LETTER * len(nearest)) + LEFT
    about = f"{nearest}{' '.join(lines)}"
    return Pictures(Picture(name, title, about, wide, below + 36, tuple(body)), CAPTION)


def _range(pour: Pour, unit: Unit) -> str:
    """Return the ends of a row's range, which all weights share."""
    return "fixed" if pour.fixed else f"{unit.number(pour.low)} to {unit.told(pour.high)}"


def _cell(cell: Poured, place: tuple[float, float], scale: Scale) -> Iterator[str]:
    """Yield a cell in its density's colour, with the density's place in its range."""
    (x, y), ink = place, scale.ink(cell.density)
    middle, low, high = x + WIDE / 2, x + SIDE, x + WIDE - SIDE
    box = f"x='{x:.1f}' y='{y:.1f}' width='{WIDE:g}' height='{TALL:g}'"
    yield f"<rect class='cell' {box} fill='{scale.colour(cell.density)}' stroke='currentColor'/>"
    yield f"<g fill='{ink}' {MIDDLE}>"
    yield text(middle, y + 19, cell.number, f"font-size='13' {BOLD}")
    if not cell.pour.fixed:
        reach = (high - low) * cell.share
        track = f"M {low:.1f},{y + 25:.1f} v 8 m 0,-4 H {high:.1f} m 0,-4 v 8"
        yield f"<path d='{track}' fill='none' stroke='{ink}' stroke-opacity='.75'/>"
        yield f"<rect class='bar' x='{low:.1f}' y='{y + 26.5:.1f}' width='{reach:.2f}' height='5'/>"
    if cell.end is not None:
        tip, way = (low, -6) if cell.end == "least" else (high, 6)
        yield f"<path class='{cell.end}' d='M {tip + way:g},{y + 29:.1f} l {-way},-6 v 12 Z'/>"
    if cell.standing:
        yield text(middle, y + 46, cell.brief, LITTLE)
    yield "</g>"


def _gap(place: tuple[float, float]) -> Iterator[str]:
    """Yield an empty cell: this weight doesn't have the part."""
    x, y = place
    box = f"x='{x:.1f}' y='{y:.1f}' width='{WIDE:g}' height='{TALL:g}'"
    yield f"<rect class='gap' {box} fill='none' stroke='currentColor' stroke-opacity='.35'/>"
    for k, words in enumerate(NOT_HERE):
        yield text(x + WIDE / 2, y + 23 + 15 * k, words, f"{LITTLE} {MIDDLE} {GREY}")


def _line(pour: Pour, row: Row, labels: Sequence[str], unit: Unit) -> str:
    """Return a row in words."""
    each = "; ".join(
        f"{label} {' '.join(NOT_HERE) if cell is None else poured_words(cell, unit)}"
        for label, cell in zip(labels, row, strict=True)
    )
    return f"{pour.part}, {_range(pour, unit)}: {each}."


def poured_words(cell: Poured, unit: Unit) -> str:
    """Return a density, with its standing in its range, if any."""
    return ", ".join(filter(None, (unit.told(cell.density), cell.standing)))
