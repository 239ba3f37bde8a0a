"""`--cast PART=846.2g`: the density of castings that are there, from the command line."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from geometry.nesting import casting_order
from optimizer.ball.figures import WEIGHT
from optimizer.ball.weight_class import Ball
from optimizer.lineup.margins import stated
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed
from optimizer.questions.reconcile.measured.measurements import MASSES
from optimizer.questions.schedule.pouring.casting import piece_volumes
from optimizer.questions.schedule.pouring.shop import Shop
from optimizer.scenario import Scenario
from shared.errors import InputError, Problem
from shared.models import POURABLE, suggestion

AMOUNT: Final = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)")
"""A number, and its unit."""
SUCH: Final = "give a mass with its unit, such as 846.2g, or a density"


@dataclass(frozen=True)
class Cast:
    """A part that is cast: its density as known and as scheduled (`aimed`), g/cm³.

    `mass` (g) is that of its piece as it left the mould, None where its density was given. Where
    nothing is `given` of it, it is taken to be as scheduled.
    """

    part: str
    density: float
    aimed: float
    mass: float | None = None
    given: bool = True


@dataclass(frozen=True)
class Amount:
    """What `text` says of a part: a number, of a unit of so many `grams`, None for a density."""

    text: str
    part: str
    number: float
    grams: float | None


def weight_of(result: LineupResult, label: str) -> WeightResult:
    """Return the weight with this label. Raises InputError where there is none."""
    for weight in result.weights:
        if weight.label == label:
            return weight
    what = f'--weight {label}: there is no weight "{label}"'
    raise InputError([Problem(what, instead=suggestion(label, result.scenario.labels))])


def read_casts(texts: Sequence[str], scenario: Scenario, aimed: Ball) -> tuple[Cast, ...]:
    """Return what is cast of the ball that is `aimed` at, in the order of casting.

    Whatever lies in a part that is given is cast, too. Raises InputError with every mistake.
    """
    given, problems = dict[str, Amount](), list[Problem]()
    for text in texts:
        try:
            amount = _read(text, scenario, aimed)
        except InputError as error:
            problems += error.problems
            continue
        if amount.part in given:
            twice = _wrong(text, f'"{amount.part}" is given twice', "a part is cast once")
            problems += twice.problems
        given[amount.part] = amount
    if not texts:
        problems.append(Problem("--cast: nothing is cast", instead=f"PART=AMOUNT: {SUCH}"))
    if problems:
        raise InputError(problems)
    casts = tuple(_casts(given, scenario, aimed))
    if len(casts) == len(aimed.map.parts):
        raise InputError([_nothing_left(casts, scenario, aimed)])
    return casts


def _read(text: str, scenario: Scenario, aimed: Ball) -> Amount:
    """Return what a text says. Raises InputError where it is wrong."""
    name, equals, amount = (piece.strip() for piece in text.rpartition("="))
    if not equals:
        raise _wrong(text, "has no amount", f"PART=AMOUNT: {SUCH}")
    if name not in aimed.map.places:
        where, known = scenario.standing(name), [part.name for part in aimed.map.parts]
        if where:
            what = f'the part "{name}" is not in weight {aimed.map.label}'
            raise _wrong(text, what, f"it is in {listed(where)}")
        raise _wrong(text, f'there is no part "{name}"', suggestion(name, known))
    if "," in amount:
        raise _wrong(text, "has a comma", "write a decimal point: 846.2g")
    matched = AMOUNT.fullmatch(amount)
    if matched is None:
        raise _wrong(text, f'"{amount}" is not a number', SUCH)
    number, unit = matched.groups()
    if unit and unit not in MASSES:
        units = ", ".join(f'"{mass}"' for mass in MASSES)
        density = Units.of(scenario).density.name
        instead = f"known: {units}; a density stands without its unit, which is {density}"
        raise _wrong(text, f'"{unit}" is not a unit of mass', instead)
    return Amount(text, name, float(number), MASSES.get(unit))


def _wrong(text: str, what: str, instead: str, value: str | None = None) -> InputError:
    return InputError([Problem(f"--cast {text}: {what}", value, instead)])


def _casts(given: Mapping[str, Amount], scenario: Scenario, aimed: Ball) -> Iterator[Cast]:
    """Yield what is cast, innermost first. Raises InputError at an impossible density."""
    pieces = piece_volumes(aimed.map, Shop(scenario).text.cast)
    inside = np.any([pieces[name] > 0.0 for name in given], axis=0)
    known, unit = aimed.densities.copy(), Units.of(scenario).density
    for part in casting_order(aimed.map.parts):
        place, volumes = aimed.map.places[part.name], pieces[part.name]
        if not inside[place]:
            continue
        scheduled = float(aimed.densities[place])
        if part.name not in given:
            yield Cast(part.name, scheduled, scheduled, given=False)
            continue
        amount = given[part.name]
        volume, mass = float(volumes[place]), None
        density, instead = amount.number * unit.factor, f"is it in {unit.name}?"
        if amount.grams is not None:
            mass = amount.number * amount.grams
            density = (mass - float(volumes @ known)) / volume + scheduled
            instead = (
                f"its own volume is {volume:.1f} cm³; is the unit right, and is it the mass of the "
                "whole piece as it left the mould, with all that lies in it?"
            )
        if not POURABLE[0] <= density <= POURABLE[1]:
            what = f"no casting of {part.name} has this density"
            raise _wrong(amount.text, what, instead, f"{density / unit.factor:.4g} {unit.name}")
        known[place] = stated(density, *POURABLE)
        yield Cast(part.name, float(known[place]), scheduled, mass)


def _nothing_left(casts: Sequence[Cast], scenario: Scenario, aimed: Ball) -> Problem:
    """Return that the ball is finished, and what it measures."""
    units, by_part = Units.of(scenario), {cast.part: cast.density for cast in casts}
    ball = aimed.map.ball(np.array([by_part[part.name] for part in aimed.map.parts]))
    measured = [
        f"{figure.words} {units.by(figure.quantity).told(figure.value(ball), 1)}"
        for figure in (WEIGHT, *aimed.map.target)
    ]
    what = f"--cast {casts[-1].part}: is the last pour of weight {aimed.map.label}"
    instead = f"nothing is left to pour: so cast, the ball has {listed(measured)}"
    return Problem(what, instead=instead)
