"""Figures in words: weight classes, margins."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import DENSITY, DENSITY_STEP
from optimizer.lineup.margins import rounding_reach
from optimizer.lineup.result import Status
from optimizer.paper.quantities import Units
from shared.rounding import fixed

POINT = {"cg": "the centre of gravity", "centre": "the ball's geometric centre"}
NOT_HERE: Final = "not in it"
"""A table's cell for a part or a dimension that a weight does not have."""


def plural(count: int, singular: str, many: str | None = None) -> str:
    """Return the count with its noun.

    >>> plural(1, "weight"), plural(3, "density", "densities")
    ('1 weight', '3 densities')
    """
    return f"{count} {singular if count == 1 else many or singular + 's'}"


def sentence_case(text: str) -> str:
    """Return the text with its first letter capitalised, the rest unchanged."""
    return text[:1].upper() + text[1:]


def listed(words: Sequence[str]) -> str:
    """Return words as a list in a sentence.

    >>> listed(["cover"]), listed(["cover", "keel", "girdle"])
    ('cover', 'cover, keel and girdle')
    """
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1]))) if words else "none"


def subject(margin: Margin) -> str:
    """Return what a margin is about: "keel", "wall between girdle and spindle", "top weight"."""
    bound, figure = margin.bound, margin.bound.figure_words
    if isinstance(bound.of, tuple) and bound.figure == DENSITY_STEP and bound.side == "min":
        return f"{figure} up from {bound.of[1]} to {bound.of[0]}"
    if isinstance(bound.of, tuple):
        return f"{figure} between {listed(bound.of)}"
    if bound.of is None:
        return figure
    own = bound.figure == DENSITY and bound.rule is None
    return bound.of if own else f"{bound.of}, {figure}"


def sentence(margin: Margin, units: Units) -> str:
    """Return a margin in words, without its weight class: in its own unit and in tolerances.

    Its note, such as what limits a recipe, follows its bound.
    """
    unit = units.limit(margin)
    if margin.middle is not None:
        off = unit.signed(margin.value - margin.middle, 1)
        allowed = unit.number(abs(margin.edge - margin.middle), 1)
        figure = f"{subject(margin)} {unit.told(margin.value, 1)}"
        return f"{figure}, off target by {off} of ±{allowed} allowed: {room(margin)}"
    bound = unit.number(margin.edge) + (f": {margin.note}" if margin.note else "")
    figure = f"{subject(margin)} {unit.told(margin.value)}"
    return f"{figure}, {standing(margin, units)} ({bound}): {room(margin)}"


def standing(margin: Margin, units: Units) -> str:
    """Return a figure relative to its limit: "at its minimum", "0.0120 under its maximum"."""
    word, inside, beyond = (
        ("minimum", "over", "under") if margin.bound.side == "min" else ("maximum", "under", "over")
    )
    amount = units.limit(margin).number(abs(margin.slack))
    if at_limit(margin) or float(amount) == 0.0:
        return f"at its {word}"
    return f"{amount} {inside if margin.slack > 0 else beyond} its {word}"


def at_limit(margin: Margin) -> bool:
    """Whether a figure is at its limit, to within the effect of rounding the densities."""
    return abs(margin.slack) <= rounding_reach(margin.gradient)


def room(margin: Margin) -> str:
    """Return a margin in tolerances, in words."""
    if at_limit(margin):
        return "no room"
    if margin.tolerances is None:
        return "no tolerance declared" if margin.slack > 0.0 else "outside its limit"
    count = counted(margin.tolerances)
    return count if margin.slack > 0.0 else f"outside by {count}"


def counted(tolerances: float) -> str:
    """Return a number of tolerances in words, without its sign.

    >>> counted(-1.26), counted(0.04)
    ('1.3 tolerances', 'less than 0.1 tolerances')
    """
    count = fixed(abs(tolerances), 1)
    return f"{count if float(count) else 'less than 0.1'} tolerances"


def margin_lines(
    margins: Iterable[Margin],
    names: Mapping[str, str],
    units: Units,
    most: int | None = None,
    *,
    tail: bool = False,
) -> tuple[str, ...]:
    """Return margins in words, in their order; what several classes share is said once.

    `names` gives the name of every weight label of the line. At most `most` lines are returned,
    with a `tail` that says how many are left out.
    """
    lines: dict[str, list[str]] = {}
    for margin in margins:
        lines.setdefault(sentence(margin, units), []).append(names[margin.weight])
    every = tuple(
        f"{'every weight' if len(who) == len(names) > 1 else ', '.join(who)}: {text}"
        for text, who in lines.items()
    )
    more = len(every) - len(every[:most])
    return (*every[:most], f"and {more} more") if more and tail else every[:most]


def status_words(status: Status) -> str:
    """Return a line-up's status in words.

    >>> status_words("within_tolerance")
    'within tolerance'
    """
    return status.replace("_", " ")


def nearest_line(status: Status) -> str:
    """Return the warning before balls that are not a solution, a space after it; else ""."""
    if status in ("feasible", "within_tolerance"):
        return ""
    known = "There is no solution" if status == "infeasible" else "No solution was found"
    return f"{known}: these balls are the nearest line-up, not a solution. "
