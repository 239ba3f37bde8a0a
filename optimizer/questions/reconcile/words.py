"""How readings and densities are told."""

from __future__ import annotations

from optimizer.paper.quantities import Unit, Units
from optimizer.questions.reconcile.finding import Reconciled
from optimizer.questions.reconcile.found import Figured, Suspect
from optimizer.questions.reconcile.measured.measurements import Kind, Measurement
from optimizer.questions.tolerance.words import input_unit
from optimizer.questions.tolerance.words import unit_of as unit_of_figure
from optimizer.scatter.good import Band
from optimizer.spread.adjustment import BEYOND

GRAM = Unit("g", 1.0, 1)
SECOND = Unit("s", 1.0, 3)


def whose_densities(*, scheduled: bool) -> str:
    """Return whose densities were aimed at."""
    return "the schedule" if scheduled else "the line-up, since it has no schedule"


def unit_of(kind: Kind, units: Units) -> Unit:
    """Return the unit in which a kind of reading is told."""
    if kind.name == "casting":
        return GRAM
    return {
        "mass": units.mass,
        "rg": units.rg.finer(1),
        "length": units.length,
        "imbalance": units.imbalance,
        "period": SECOND,
    }[kind.quantity]


def figure_unit(figure: str, units: Units) -> Unit:
    """Return the unit of one of a model's FIGURES, an RG's a digit finer than usual."""
    unit = unit_of_figure(figure, units)
    return unit.finer(1) if unit == units.rg else unit


def give_or_take(value: float, sd: float, unit: Unit, more: int = 0) -> str:
    """Return an estimate with half of its 95 % interval."""
    return f"{unit.number(value, more)} ± {unit.number(BEYOND * sd, more)}"


def reading_words(reading: Measurement) -> str:
    """Return a reading as it stands in the file: "line 7, weight of ball 3, 15.42 lb"."""
    return f"line {reading.line}, {reading.name} of ball {reading.ball}, {reading.written}"


def suspect_words(suspect: Suspect, units: Units) -> str:
    """Return what may be wrong, and what it would be by all else."""
    if suspect.reading is not None:
        unit = unit_of(suspect.reading.kind, units)
        by_others = unit.told(suspect.expected, 1)
        return f"{reading_words(suspect.reading)}: by all else it would be {by_others}"
    input_ = suspect.input
    if input_ is None:
        raise ValueError("a suspect is a reading or an input")
    unit = input_unit(input_, units)
    no_reading = "no reading need be wrong if this" if suspect.alone else "this may be"
    verb = "is" if suspect.alone else ""
    return " ".join(
        f"ball {suspect.ball}, {input_.name}: {no_reading} {verb} farther off than its spread "
        f"(standard deviation {unit.told(input_.law.sd, 1)}) lets expect".split()
    )


def misfit_words(found: Reconciled, units: Units) -> list[str]:
    """Return what doesn't fit, and what may be wrong, a line each."""
    lines = [suspect_words(suspect, units) for suspect in found.suspects]
    for stack, test in found.tests:
        if not test.passed and not any(
            s.ball in {b.name for b in stack.balls} for s in found.suspects
        ):
            names = ", ".join(ball.name for ball in stack.balls)
            lines.append(f"ball {names}: its readings don't agree, and none stands out")
    return lines


def placed(figure: Figured, band: Band) -> str:
    """Return where a figure lies against its band: only its whole interval decides."""
    low, high = figure.interval
    if band.low <= low and high <= band.high:
        return "inside"
    return "outside" if high < band.low or low > band.high else "not decided"
