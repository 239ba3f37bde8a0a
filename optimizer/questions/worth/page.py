"""What dimensions and bounds are worth, told: a table to be read, and the same as data."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from optimizer.ball.figures import Quantity
from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Block, Column, Heading, Notes, Paragraph, Table, left
from optimizer.paper.quantities import FIXED_UNITS, Unit, Units
from optimizer.paper.words import listed
from optimizer.questions.line_up.data import number
from optimizer.questions.line_up.page import class_names
from optimizer.questions.worth.worth import AGREE, SHARE, Side, Worth, Worths
from shared.rounding import fixed

DIGITS = 3
"""Of a gain in tolerances."""
ROUNDED = 0.005
"""Tolerances: what the rounding of the mould costs is told from here on."""


def worth_blocks(found: Worths, result: LineupResult) -> tuple[Block, ...]:
    """Return what is told of it under a line-up."""
    return tuple(_blocks(found, result))


def _blocks(found: Worths, result: LineupResult) -> Iterator[Block]:
    units = Units.of(result.scenario)
    yield Heading("What each dimension and bound is worth")
    yield Paragraph(
        "Change of the smallest margin, in tolerances, when this number alone moves by one step "
        "and everything else that is free is re-optimised.",
        "quiet",
    )
    columns = (left(""), Column("now"), Column("step"), Column("less"), Column("more"))
    straight = (Column("linear down to"), Column("linear up to"))
    rows = tuple(_row(one, result, units) for one in found.found)
    if rows:
        yield Table((*columns, *straight), rows)
    lines = tuple(_lines(found, result, units))
    if lines:
        yield Notes(lines)


def _row(one: Worth, result: LineupResult, units: Units) -> tuple[str, ...]:
    unit = _unit(one, units)
    ends = (
        unit.number(one.value + way * side.reach * one.step) if side.reach else "-"
        for way, side in ((-1, one.down), (1, one.up))
    )
    return (
        f"{_name(one, result)}, {unit.name}",
        unit.number(one.value),
        f"{one.step / unit.factor:g}",
        _gain(one.down),
        _gain(one.up),
        *ends,
    )


def _lines(found: Worths, result: LineupResult, units: Units) -> Iterator[str]:
    for one in found.found:
        unit = _unit(one, units)
        if one.end is not None:
            yield _at_end(one, result, unit)
        elif one.free and _better(one):
            yield (
                f"{_name(one, result)}: a step inside its range gains margin, so the search "
                "stopped short of the best; more --starts, or a start nearer to it, may find more."
            )
    yield (
        '"Linear": up to there each step is worth the same; checked by re-solving at one step and '
        f"at the end, which agree to {AGREE:g} tolerances or {SHARE:.0%}. A dash: not linear even "
        "over one step. The changes under less and more are re-solved in every case."
    )
    smallest = result.smallest
    if smallest is not None and (smallest.tolerances or 0.0) < found.stated - ROUNDED:
        yield (
            "A smaller margin that none of these numbers affects is left out; the smallest of "
            f"the others is {fixed(found.stated, 2)} tolerances."
        )
    if found.level - found.stated > ROUNDED:
        cost = fixed(found.level - found.stated, DIGITS)
        yield f"Rounding the mould and the densities as stated costs {cost} tolerances of it."
    if found.still:
        yield (f"Left out, because a shape has no derivative in them: {listed(found.still)}.")


def _at_end(one: Worth, result: LineupResult, unit: Unit) -> str:
    """Say what a dimension at the end of its search range would give beyond it."""
    beyond, word, way = (one.up, "more", 1) if one.end == "most" else (one.down, "less", -1)
    here = f"{_name(one, result)}: {unit.told(one.value)}, at the {one.end} of its range; "
    step = f"{one.step / unit.factor:g} {unit.name} {word}"
    if beyond.gain is None:
        return f"{here}no line-up was found {step}."
    if not float(_size(beyond.gain)):
        return f"{here}{step} would give nothing."
    verb = "give" if beyond.gain >= 0 else "cost"
    if not beyond.reach:
        return f"{here}{step} would {verb} {_size(beyond.gain)} tolerances."
    to = unit.number(one.value + way * beyond.reach * one.step)
    return f"{here}each {step} would {verb} {_size(beyond.gain)} tolerances (checked to {to})."


def _better(one: Worth) -> bool:
    """Whether a dimension inside its range is better off its best: then it isn't the best."""
    return max(one.down.gain or 0.0, one.up.gain or 0.0) > AGREE


def _name(one: Worth, result: LineupResult) -> str:
    names = class_names(result)
    if one.bound is None:
        some = len(one.weights) < len(names)
        return one.name + (f" ({listed([names[w] for w in one.weights])})" if some else "")
    side = "minimum" if one.bound.side == "min" else "maximum"
    return f"{one.name} {side} {one.bound.figure.words}".strip()


def _unit(one: Worth, units: Units) -> Unit:
    return units.by(_quantity(one))


def _quantity(one: Worth) -> Quantity:
    return "length" if one.bound is None else one.bound.figure.quantity


def _gain(side: Side) -> str:
    if side.gain is None:
        return "none found"
    told = fixed(side.gain, DIGITS)
    return told if told.startswith("-") or not float(told) else f"+{told}"


def _size(gain: float) -> str:
    return fixed(abs(gain), DIGITS)


def worth_data(found: Worths) -> dict[str, Any]:
    """Return it as JSON types; values and steps in the unit that is told, gains in tolerances."""
    return {
        "smallest_margin_tolerances": number(found.level),
        "stated_tolerances": number(found.stated),
        "numbers": [_number(one) for one in found.found],
        "left_out": list(found.still),
    }


def _number(one: Worth) -> dict[str, Any]:
    unit, factor = FIXED_UNITS[_quantity(one)]
    return {
        "kind": "dimension" if one.bound is None else one.bound.words,
        "name": one.name or None,
        "weights": list(one.weights),
        "free": one.free,
        "at_end": one.end,
        "value": number(one.value / factor),
        "step": number(one.step / factor),
        "unit": unit,
        "down": _side(one, one.down, -1.0, factor),
        "up": _side(one, one.up, 1.0, factor),
    }


def _side(one: Worth, side: Side, way: float, factor: float) -> dict[str, Any]:
    to = (one.value + way * side.reach * one.step) / factor
    return {
        "slope_tolerances_per_step": number(side.slope),
        "gain_tolerances_at_step": None if side.gain is None else number(side.gain),
        "even_to": number(to) if side.reach else None,
    }
