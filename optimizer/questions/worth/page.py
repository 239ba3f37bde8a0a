"""What dimensions and bounds are worth: as a table, and as data."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from optimizer.ball.figures import Quantity
from optimizer.lineup.result import LineupResult
from optimizer.paper.document import (
    Block,
    Column,
    Heading,
    Notes,
    Paragraph,
    Table,
    collected,
    left,
)
from optimizer.paper.quantities import FIXED_UNITS, Unit, Units
from optimizer.paper.words import listed
from optimizer.questions.line_up.data import number
from optimizer.questions.line_up.page import class_names
from optimizer.questions.worth.worth import AGREE, SHARE, Side, Worth, Worths
from shared.rounding import fixed

DIGITS = 3
"""Decimals of a gain in tolerances."""
ROUNDED = 0.005
"""Tolerances: the cost of rounding the mould is mentioned above this."""


@collected
def worth_blocks(worths: Worths, result: LineupResult) -> Iterator[Block]:
    """Yield the table and its notes, for the page of a line-up."""
    units = Units.of(result.scenario)
    yield Heading("What each dimension and bound is worth")
    yield Paragraph(
        "Change of the smallest margin, in tolerances, when this number alone moves by one step "
        "and everything else that is free is re-optimised.",
        "quiet",
    )
    columns = (left(""), Column("now"), Column("step"), Column("less"), Column("more"))
    straight = (Column("linear down to"), Column("linear up to"))
    rows = tuple(_row(worth, result, units) for worth in worths.each)
    if rows:
        yield Table((*columns, *straight), rows)
    yield Notes(tuple(_lines(worths, result, units)))


def _row(worth: Worth, result: LineupResult, units: Units) -> tuple[str, ...]:
    unit = _unit(worth, units)
    ends = (
        unit.number(worth.value + way * side.reach * worth.step) if side.reach else "-"
        for way, side in ((-1, worth.down), (1, worth.up))
    )
    return (
        f"{_name(worth, result)}, {unit.name}",
        unit.number(worth.value),
        f"{worth.step / unit.factor:g}",
        _gain(worth.down),
        _gain(worth.up),
        *ends,
    )


def _lines(worths: Worths, result: LineupResult, units: Units) -> Iterator[str]:
    for worth in worths.each:
        unit = _unit(worth, units)
        if worth.end is not None:
            yield _at_end(worth, result, unit)
        elif worth.free and _better(worth):
            yield (
                f"{_name(worth, result)}: a step inside its range gains margin, so the search "
                "stopped short of the best; more --starts, or a start nearer to it, may find more."
            )
    yield (
        '"Linear": up to there each step is worth the same; checked by re-solving at one step and '
        f"at the end, which agree to {AGREE:g} tolerances or {SHARE:.0%}. A dash: not linear even "
        "over one step. The changes under less and more are re-solved in every case."
    )
    smallest = result.smallest
    if smallest is not None and (smallest.tolerances or 0.0) < worths.stated - ROUNDED:
        yield (
            "A smaller margin that none of these numbers affects is left out; the smallest of "
            f"the others is {fixed(worths.stated, 2)} tolerances."
        )
    if worths.level - worths.stated > ROUNDED:
        cost = fixed(worths.level - worths.stated, DIGITS)
        yield f"Rounding the mould and the densities as stated costs {cost} tolerances of it."
    if worths.still:
        yield f"Left out, because a shape has no derivative in them: {listed(worths.still)}."


def _at_end(worth: Worth, result: LineupResult, unit: Unit) -> str:
    """Return what a dimension at the end of its search range would gain beyond it."""
    beyond, word, way = (worth.up, "more", 1) if worth.end == "most" else (worth.down, "less", -1)
    here = f"{_name(worth, result)}: {unit.told(worth.value)}, at the {worth.end} of its range; "
    step = f"{worth.step / unit.factor:g} {unit.name} {word}"
    if beyond.gain is None:
        return f"{here}no line-up was found {step}."
    if not float(_size(beyond.gain)):
        return f"{here}{step} would give nothing."
    verb = "give" if beyond.gain >= 0 else "cost"
    if not beyond.reach:
        return f"{here}{step} would {verb} {_size(beyond.gain)} tolerances."
    to = unit.number(worth.value + way * beyond.reach * worth.step)
    return f"{here}each {step} would {verb} {_size(beyond.gain)} tolerances (checked to {to})."


def _better(worth: Worth) -> bool:
    """Whether a step inside its range gains margin: then the dimension isn't at its best."""
    return max(worth.down.gain or 0.0, worth.up.gain or 0.0) > AGREE


def _name(worth: Worth, result: LineupResult) -> str:
    names = class_names(result)
    if worth.bound is None:
        if len(worth.weights) == len(names):
            return worth.name
        return f"{worth.name} ({listed([names[w] for w in worth.weights])})"
    side = "minimum" if worth.bound.side == "min" else "maximum"
    return f"{worth.name} {side} {worth.bound.figure.words}".strip()


def _unit(worth: Worth, units: Units) -> Unit:
    return units.by(_quantity(worth))


def _quantity(worth: Worth) -> Quantity:
    return "length" if worth.bound is None else worth.bound.figure.quantity


def _gain(side: Side) -> str:
    if side.gain is None:
        return "none found"
    gain = fixed(side.gain, DIGITS)
    return gain if gain.startswith("-") or not float(gain) else f"+{gain}"


def _size(gain: float) -> str:
    return fixed(abs(gain), DIGITS)


def worth_data(worths: Worths) -> dict[str, Any]:
    """Return it as JSON types; values and steps in the unit named, gains in tolerances."""
    return {
        "smallest_margin_tolerances": number(worths.level),
        "stated_tolerances": number(worths.stated),
        "numbers": [_number(worth) for worth in worths.each],
        "left_out": list(worths.still),
    }


def _number(worth: Worth) -> dict[str, Any]:
    unit, factor = FIXED_UNITS[_quantity(worth)]
    return {
        "kind": "dimension" if worth.bound is None else worth.bound.words,
        "name": worth.name or None,
        "weights": list(worth.weights),
        "free": worth.free,
        "at_end": worth.end,
        "value": number(worth.value / factor),
        "step": number(worth.step / factor),
        "unit": unit,
        "down": _side(worth, worth.down, -1.0, factor),
        "up": _side(worth, worth.up, 1.0, factor),
    }


def _side(worth: Worth, side: Side, way: float, factor: float) -> dict[str, Any]:
    to = (worth.value + way * side.reach * worth.step) / factor
    return {
        "slope_tolerances_per_step": number(side.slope),
        "gain_tolerances_at_step": None if side.gain is None else number(side.gain),
        "even_to": number(to) if side.reach else None,
    }
