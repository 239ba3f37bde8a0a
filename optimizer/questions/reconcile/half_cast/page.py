"""The page of a ball that is half cast: what to pour next, or what else to do with it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from optimizer.paper.document import Block, Column, Heading, Notes, Paragraph, Table, Tone
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import listed, sentence_case
from optimizer.questions.line_up.frame import closing, stated, warned
from optimizer.questions.line_up.page import class_names
from optimizer.questions.line_up.warnings import all_warnings
from optimizer.questions.reconcile.half_cast.half_cast import HalfCast, Other
from optimizer.questions.reconcile.half_cast.range_found import End, Found
from optimizer.questions.reconcile.words import whose_densities
from optimizer.questions.tolerance.words import interval, percent
from shared.rounding import fixed

SEEN: Final = 0.005
"""Tolerances: a figure that is off by less prints as on target."""
RULE: Final = (
    "Of all pours that bring the target's figures back to the schedule's, as near as can be, these "
    "move least, each in units of its own standard deviation: the rule of the sheet's table and of "
    "tolerance --weighed. The later ones show where it leads: weigh the next casting and ask again."
)


def half_cast_blocks(found: HalfCast) -> Iterator[Block]:
    """Yield the page."""
    names, units = class_names(found.one.schedule.lineup), Units.of(found.scenario)
    words, tone = _verdict(found, names)
    yield stated(found.scenario, words, tone)
    if found.one.possible:
        yield Paragraph(_next(found, units.density))
    yield from warned([_doubt(found, units.density)] if found.doubtful else [])
    yield from _cast(found, units.density)
    yield from _pours(found, names, units.density)
    yield _figures(found, units)
    yield from _good(found)
    yield Heading("What else the casting is good for")
    yield Notes(tuple(_elsewhere(found, names)))
    warnings = all_warnings(found.one.scenario, [found.weight]) if found.one.possible else ()
    yield from closing((*found.scenario.warnings, *warnings))


def _verdict(found: HalfCast, names: dict[str, str]) -> tuple[str, Tone]:
    ball, parts = f"the {names[found.label]} ball", listed([cast.part for cast in found.casts])
    if found.one.possible:
        off = max((abs(d.tolerances or 0.0) for d in found.weight.deviations), default=0.0)
        how = "on target" if off < SEEN else "within the target's tolerances"
        return f"{ball} can still be made, {how}.", "good"
    if found.one.status == "infeasible":
        cannot = f"{ball} can't be made any more ({_proven(found, found.one.held)})"
    else:
        cannot = f"no pours were found that make {ball}, nor is it proven that there are none"
    if found.scrap:
        others = ", nor can another weight with the same mould for it" if found.others else ""
        return f"{cannot}{others}: scrap the {parts}.", "bad"
    suited = [names[other.label] for other in found.others if other.possible]
    if suited:
        return f"{cannot}, but the {parts} can be used for {listed(suited)}.", "warning"
    return f"{cannot}; no other weight was found that the {parts} can be used for.", "warning"


def _proven(found: HalfCast, held: Iterable[str]) -> str:
    """Return that it is proven, and for which densities of other parts."""
    given = (*found.assumed, *held)
    return f"proven, with {listed(given)} as scheduled" if given else "proven"


def _density(value: float, unit: Unit) -> str:
    """Return a density without zeros at its end."""
    text = unit.number(value)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _next(found: HalfCast, unit: Unit) -> str:
    """Return what to pour next."""
    pour, *_ = found.pours
    poured, aimed, exact = (_density(rho, unit) for rho in (pour.poured, pour.aimed, pour.set))
    change = "as scheduled" if poured == aimed else f"instead of {aimed}"
    step = f" ({exact}, put on the shop's step)" if poured != exact else ""
    weighs = f"Its piece then weighs {fixed(pour.mass, 1)} g as it leaves the mould, trimmed."
    return f"Pour next: {pour.part} at {poured} {unit.name} {change}{step}. {weighs}"


def _doubt(found: HalfCast, unit: Unit) -> str:
    off = [
        f"{cast.part} by {unit.signed(cast.density - cast.aimed, 0)} {unit.name}"
        for cast in found.doubtful
    ]
    return (
        f"off by more than six standard deviations: {listed(off)}. Was the whole piece weighed, "
        "with all that lies in it, and before turning?"
    )


def _cast(found: HalfCast, unit: Unit) -> Iterator[Block]:
    yield Table(
        (
            Column("cast", "left"),
            Column(f"scheduled, {unit.name}"),
            Column(f"as cast, {unit.name}"),
            Column("piece, g"),
        ),
        tuple(
            (
                cast.part,
                unit.number(cast.aimed),
                unit.number(cast.density),
                "" if cast.mass is None else fixed(cast.mass, 1),
            )
            for cast in found.casts
        ),
    )
    if not found.one.schedule.stepped:
        yield Paragraph(f"As scheduled: at the densities of {whose_densities(scheduled=False)}.")
    if found.assumed:
        yield Notes((f"Nothing is given of {listed(found.assumed)}: taken to be as scheduled.",))


def _pours(found: HalfCast, names: dict[str, str], unit: Unit) -> Iterator[Block]:
    possible = found.one.possible
    columns = [Column("to be poured", "left"), Column(f"scheduled, {unit.name}")]
    columns += [Column(f"{'re-set' if possible else 'nearest'}, {unit.name}")]
    columns += [Column(f"on the step, {unit.name}")] if found.stepped else []
    columns += [Column("piece, g")]
    rows = [
        (
            pour.part,
            unit.number(pour.aimed),
            unit.number(pour.set),
            *([unit.number(pour.poured)] if found.stepped else []),
            fixed(pour.mass, 1),
        )
        for pour in found.pours
    ]
    yield Table(tuple(columns), tuple(rows))
    lines = list[str]()
    if found.stepped:
        lines.append(
            f"The {found.pours[0].part} alone is put on its step; the pours after it then follow."
        )
    elif possible and _without_step(found):
        lines.append(f"No step near it was found to do: hold the {found.pours[0].part} as printed.")
    for part, group in found.one.held.items():
        others = [names[label] for label in group if label != found.label]
        why = f"shared with {listed(others)}" if others else "given in the scenario"
        lines.append(f"The {part} stays as scheduled: its density is {why}.")
    if possible:
        ball = found.stepped or found.one
        lines.append(
            RULE
            if ball.least
            else "The pours that move least were not found to keep every limit: these are solved "
            "for this ball alone."
        )
    else:
        known = found.one.engine.infeasible
        lines += [
            f"The {margin.part} as cast is outside {margin.words} ({unit.told(margin.edge)}); no "
            "other pour changes that."
            for margin in found.one.against
        ]
        lines += [sentence_case(known.proof) + "."] if known else []
    yield Notes(tuple(lines), "quiet")


def _without_step(found: HalfCast) -> bool:
    """Whether the next pour should be on a step, but none does."""
    part = found.pours[0].part
    stepped = found.one.schedule.pour(part).step is not None and found.stepped is None
    return stepped and part not in found.one.held


def _figures(found: HalfCast, units: Units) -> Table:
    columns = [Column("figure", "left"), Column("target")]
    columns += [Column("as told" if found.one.possible else "nearest"), Column("off, tolerances")]
    columns += [Column("left as scheduled"), Column("off, tolerances")]
    rows = []
    for told, left in zip(found.weight.deviations, found.scheduled.deviations, strict=True):
        unit = units.by(told.figure.quantity).finer(1)
        cells = [f"{told.figure.words}, {unit.name}", unit.number(told.asked)]
        for off in (told, left):
            cells += [unit.number(off.measured)]
            cells += ["" if off.tolerances is None else fixed(off.tolerances, 2)]
        rows.append(tuple(cells))
    return Table(tuple(columns), tuple(rows))


def _good(found: HalfCast) -> Iterator[Block]:
    if found.good is not None:
        told, left = found.good.poured, found.good.scheduled
        yield Paragraph(
            f"Share of good balls from here, if nothing more is weighed: {percent(told)} with "
            f"these pours ({interval(told)}), {percent(left)} with those of the schedule "
            f"({interval(left)}). Simulated; intervals are 95 %, of the simulation alone."
        )
        if left.low > told.high:
            words = "So with the pours left as scheduled this ball is likelier to be good."
            yield Paragraph(words, "warning")


def _elsewhere(found: HalfCast, names: dict[str, str]) -> Iterator[str]:
    for other in found.others:
        yield f"{names[other.label]}: {_suits(found, other)}."
    if not found.others:
        yield "No other weight has the same mould for it."
    part = found.last.part
    if found.suits is None:
        yield f"No mass of the {part} was found with which the {names[found.label]} ball is made."
        return
    weighs = _range_words(found.suits)
    yield (
        f"The {names[found.label]} ball was found to suit a {part} of {weighs} as it leaves the "
        f"mould{_beyond(found.suits.low, found.suits.high)}."
    )


def _range_words(suits: Found) -> str:
    """Return the masses found to suit; an end that no casting reaches isn't told."""
    low, high = (fixed(grams, 1) for grams in suits.grams)
    if suits.low.open:
        return "any mass" if suits.high.open else f"up to {high} g"
    return f"at least {low} g" if suits.high.open else f"{low} to {high} g"


def _beyond(low: End, high: End) -> str:
    proven = [side for side, end in (("below", low), ("above", high)) if end.proven]
    if len(proven) == 2:
        return "; just beyond either, it is proven that it can't be made"
    if proven:
        return f"; just {proven[0]} that, it is proven that it can't be made"
    return ""


def _suits(found: HalfCast, other: Other) -> str:
    if other.status == "infeasible":
        return f"can't be made of it ({_proven(found, other.held)})"
    if not other.possible:
        return "no pours were found that make it of this, nor is it proven that there are none"
    how = "on target" if other.status == "feasible" else "within tolerance"
    return (
        f"can be made of it, {how}; its pours move by {fixed(other.moved, 1)} standard deviations"
    )
