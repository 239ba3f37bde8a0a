"""The screen of `solve`: a line-up, or why there is none."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from optimizer.lineup.margins import Deviation, outside
from optimizer.lineup.result import Infeasible, LineupResult, WeightResult
from optimizer.paper.axis_words import axis_lines, psa_lines
from optimizer.paper.document import Block, Heading, Notes, Paragraph, Tone, collected
from optimizer.paper.quantities import Units
from optimizer.paper.words import POINT, listed, margin_lines, plural, room, sentence_case
from optimizer.questions.line_up.counting import count_lines
from optimizer.questions.line_up.frame import closing, stated
from optimizer.questions.line_up.goal_words import goal_words
from optimizer.questions.line_up.meshes import mesh_notes
from optimizer.questions.line_up.mould_words import mould_notes
from optimizer.questions.line_up.nearest import aim_words, nearest_blocks, rises
from optimizer.questions.line_up.table import line_up_table
from optimizer.questions.line_up.warnings import result_warnings
from shared.rounding import fixed
from shared.units import OUNCE

LEAST_TOP_WEIGHT = 0.005 * OUNCE
"""g. A smaller top weight prints as zero."""
SMALLEST = 5
"""Margins shown on a screen."""


def lineup_blocks(
    result: LineupResult, diagnosis: Sequence[Block] = (), *, room: Sequence[str] = ()
) -> tuple[Block, ...]:
    """Return the screen of a result, with the blocks of its `diagnosis`.

    `room` says what is proven of the most room that any line-up has.
    """
    return (*opening(result), *findings(result, diagnosis, room=room))


def opening(result: LineupResult) -> tuple[Block, ...]:
    """Return the first lines of a result: its status in words, and its target."""
    aim = Paragraph(_aim(result, Units.of(result.scenario)))
    sought = (
        ()
        if result.goal is None
        else (Paragraph(goal_words(result.goal, accepted=result.accepted)),)
    )
    return stated(result.scenario, *_status(result)), *sought, aim


@collected
def findings(
    result: LineupResult, diagnosis: Sequence[Block] = (), *, room: Sequence[str] = ()
) -> Iterator[Block]:
    """Yield what follows the opening: why not, the line-up, its smallest margins, notes."""
    scenario, units = result.scenario, Units.of(result.scenario)
    names = class_names(result)
    if result.inexact:
        yield Paragraph(f"{sentence_case(result.inexact)}.")
    if result.infeasible is not None:
        yield Paragraph(f"{sentence_case(result.infeasible.proof)}.")
        yield from _why(result, result.infeasible, names, units)
        yield from diagnosis
        yield from nearest_blocks(result, result.infeasible, names, units)
    yield line_up_table(result.weights, scenario)
    smallest = margin_lines(result.margins, names, units, SMALLEST)
    if smallest and result.accepted:
        yield Heading("Smallest margins")
        yield Notes((*smallest, *room))
    balls = [weight.ball for weight in result.weights]
    yield Heading("Notes")
    yield Notes(
        (
            *_about(result, units),
            *mould_notes(result, names, units),
            *axis_notes(result.weights, names, units),
            *mesh_notes([ball.map for ball in balls], balls, names, units),
        )
    )
    yield from closing(result_warnings(result))


def axis_notes(
    weights: Sequence[WeightResult], names: Mapping[str, str], units: Units
) -> Iterator[str]:
    """Yield how axes and CG differ from those of an ordinary ball."""
    balls = [weight.ball for weight in weights]
    yield from axis_lines(balls, names, units.length)
    yield from psa_lines(balls, names, units.length)
    below = [
        names[w.label]
        for w in weights
        if w.ball.properties.top_weight_along_pin(w.ball.map.arm) < -LEAST_TOP_WEIGHT
    ]
    if below:
        yield (
            f"{listed(below)}: the CG lies on the far side from the pin, so the top weight shown "
            "is at the bottom of the core; a max of pin_distance under [limits] keeps it at the "
            "top."
        )


def class_names(result: LineupResult) -> dict[str, str]:
    """Return each weight label's name, such as "16 lb"."""
    return {weight.label: weight.ball.map.name for weight in result.weights}


def _status(result: LineupResult) -> tuple[str, Tone]:
    many = plural(len(result.weights), "weight")
    off = result.largest_deviation
    if off is not None:
        return f"WITHIN TOLERANCE. {_off(*off, result)}", "good"
    if result.accepted:
        smallest = result.smallest
        least = "" if smallest is None else f" Smallest margin: {room(smallest)}."
        beyond = [m for w in result.weights for m in w.margins if outside(m)]
        hair = any(not m.rule_only for m in beyond)
        kept = "every limit kept but for rounding" if hair else "inside every limit"
        if any(m.rule_only for m in beyond):
            kept += ", but what the scenario asks for breaks a rule (see the warnings)"
        return f"FEASIBLE. {many.capitalize()} on target, {kept}.{least}", "good"
    if result.status == "infeasible":
        return "INFEASIBLE. No densities meet every target and limit.", "bad"
    search = result.search
    starts = plural(search.moulds or search.starts, "start")
    of_moulds = " over its free dimensions" if search.moulds else ""
    line = (
        f"UNDECIDED. No line-up was found from {starts}{of_moulds}, and none was proven impossible."
    )
    return line if search.complete else f"{line} The search was interrupted.", "warning"


def _off(label: str, off: Deviation, result: LineupResult) -> str:
    """Return the largest deviation from a target, in its own unit and in tolerances."""
    units, who = Units.of(result.scenario), class_names(result)[label]
    unit = units.by(off.figure.quantity)
    count = fixed(abs(off.tolerances or 0.0), 2)
    return (
        f"Every limit is kept, and every target is met within its tolerance: at most {count} "
        f"tolerances off ({who}: {off.figure.words} {unit.signed(off.off, 2)} {unit.name})."
    )


def _why(
    result: LineupResult, why: Infeasible, names: dict[str, str], units: Units
) -> Iterator[Block]:
    if why.broken:
        yield Heading("Broken, whatever the densities")
        yield Notes(margin_lines(why.broken, names, units), "bad")
    if why.stops:
        yield Heading("What stops the nearest line-up")
        yield Notes(margin_lines(why.stops, names, units, SMALLEST, tail=True))
    if lines := tuple(count_lines(result.scenario)):
        yield Notes((*lines, *rises(result)))


def _aim(result: LineupResult, units: Units) -> str:
    """Return one line on the target, and the point that RGs are about."""
    target = result.scenario.target
    aim = aim_words(target, result.figures, units)
    free = "" if all(span.fixed for span in target.values()) else " (free figures as chosen)"
    return f"Target: {aim}{free}, about {POINT[result.scenario.about]}."


def _about(result: LineupResult, units: Units) -> Iterator[str]:
    """Yield how much RGs about the other point differ, which a shop may measure about."""
    scenario = result.scenario
    other = "centre" if scenario.about == "cg" else "cg"
    gaps = [
        max(
            abs(ball.properties.about(other).low - ball.radii.low),
            abs(ball.properties.about(other).differential - ball.radii.differential),
        )
        for ball in (weight.ball for weight in result.weights)
    ]
    gap, step = max(gaps), units.rg.number(0.0, 1)
    differ = (
        "they are the same"
        if units.rg.number(gap, 1) == step
        else f"low RG and differential differ by at most {units.rg.told(gap, 1)}"
    )
    yield f"RGs are about {POINT[scenario.about]}; about {POINT[other]} {differ}."
