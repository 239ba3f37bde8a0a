"""Figures told in words: a weight class, a margin."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import DENSITY
from optimizer.lineup.margins import rounding_reach
from optimizer.lineup.result import Status
from optimizer.paper.quantities import Units
from shared.rounding import fixed

POINT = {"cg": "the centre of gravity", "centre": "the ball's geometric centre"}
NOT_HERE: Final = "not in it"
"""What a table says of a part, or of a dimension, in a weight that is without it."""


def plural(count: int, one: str, many: str | None = None) -> str:
    """Return the count with its noun.

    >>> plural(1, "weight"), plural(3, "density", "densities")
    ('1 weight', '3 densities')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def sentence_case(text: str) -> str:
    """Return the text with its first letter large, the rest as it is."""
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
    if isinstance(bound.of, tuple):
        return f"{figure} between {listed(bound.of)}"
    if bound.of is None:
        return figure
    own = bound.figure == DENSITY and bound.rule is None
    return bound.of if own else f"{bound.of}, {figure}"


def sentence(margin: Margin, units: Units) -> str:
    """Return a margin in words, without its weight class: in its own unit and in tolerances.

    What its note says, such as what stops a recipe, stands beside its bound.
    """
    unit = units.limit(margin)
    if margin.middle is not None:
        off = unit.signed(margin.value - margin.middle, 1)
        allowed = unit.number(abs(margin.edge - margin.middle), 1)
        figure = f"{subject(margin)} {unit.told(margin.value, 1)}"
        return f"{figure}, off target by {off} of ±{allowed} allowed: {room(margin)}"
    bound = unit.number(margin.edge) + (f": {margin.note}" if margin.note else "")
    told = f"{subject(margin)} {unit.told(margin.value)}, {standing(margin, units)} ({bound})"
    return f"{told}: {room(margin)}"


def standing(margin: Margin, units: Units) -> str:
    """Return how a figure stands to its limit: "at its minimum", "0.0120 under its maximum"."""
    word, inside, beyond = (
        ("minimum", "over", "under") if margin.bound.side == "min" else ("maximum", "under", "over")
    )
    amount = units.limit(margin).number(abs(margin.slack))
    if at_limit(margin) or float(amount) == 0.0:
        return f"at its {word}"
    return f"{amount} {inside if margin.slack > 0 else beyond} its {word}"


def at_limit(margin: Margin) -> bool:
    """Whether a figure is at its limit, but for what stating the densities can move it."""
    return abs(margin.slack) <= rounding_reach(margin.gradient)


def room(margin: Margin) -> str:
    """Return a margin in tolerances, in words."""
    if at_limit(margin):
        return "no room"
    if margin.tolerances is None:
        return "no tolerance declared" if margin.slack > 0.0 else "outside its limit"
    told = counted(margin.tolerances)
    return told if margin.slack > 0.0 else f"outside by {told}"


def counted(tolerances: float) -> str:
    """Return so many tolerances in words.

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
    """Return margins in words, in their order; what several classes share is told once.

    `names` gives each weight label's name, all the labels of the line. At `most` so many lines are
    told, with a `tail` that says how many are left.
    """
    lines: dict[str, list[str]] = {}
    for margin in margins:
        lines.setdefault(sentence(margin, units), []).append(names[margin.weight])
    told = (
        f"{'every weight' if len(who) == len(names) > 1 else ', '.join(who)}: {text}"
        for text, who in lines.items()
    )
    every = tuple(told)
    more = len(every) - len(every[:most])
    return (*every[:most], f"and {more} more") if more and tail else every[:most]


def status_words(status: Status) -> str:
    """Return a line-up's status as it is read.

    >>> status_words("within_tolerance")
    'within tolerance'
    """
    return status.replace("_", " ")


def nearest_line(status: Status) -> str:
    """Return what is to be said before balls that are no solution, a space after it; else ""."""
    if status in ("feasible", "within_tolerance"):
        return ""
    known = "There is no solution" if status == "infeasible" else "No solution was found"
    return f"{known}: these balls are the nearest line-up, not a solution. "
