"""What a diagnosis names, in words: a claim, a remedy, each with its line in the file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from optimizer.ball.bounds import Bound, Margin
from optimizer.ball.figures import DENSITY, RADII, WEIGHT
from optimizer.lineup.claims import Claim, Other
from optimizer.lineup.result import LineupResult
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import counted, listed, sentence, subject
from optimizer.questions.why_not.changes.changes import Change
from optimizer.questions.why_not.changes.moves import Move
from optimizer.questions.why_not.changes.remedies import Remedy
from optimizer.questions.why_not.diagnosis import claim_path
from optimizer.scenario import Scenario

NO_NAMES: Final[Mapping[str, str]] = {}
RECIPE = "{} allowed by the recipe of"
"""What of a recipe may be moved, in words."""


def claim_line(claim: Claim, result: LineupResult, weights: Sequence[str] = ()) -> str:
    """Return a claim in words, with its figure and its line in the file.

    `weights` are all that have it, where it is told once for several: each has its own weight.
    """
    asked, units = result.scenario, Units.of(result.scenario)
    there = _at(claim_place(claim, asked))
    if isinstance(claim, Other):
        return f"one {claim.of} density for several weights{there}"
    if claim.side == "both" and claim.figure in RADII:
        least = "" if claim.low == claim.high else f"{units.rg.exact(claim.low)} to "
        allowed = None if result.exact else claim.tolerance
        return f"{claim.words} {least}{_with_tolerance(units.rg, claim.high, allowed)}{there}"
    if claim.side == "both" and claim.figure == WEIGHT:
        each = [
            _with_tolerance(
                units.mass, class_drawing.mass, None if result.exact else class_drawing.tolerance
            )
            + _at(claim_place(replace(claim, path=("weights", class_drawing.label)), asked))
            for class_drawing in asked.classes
            if class_drawing.label in (weights or [str(claim.weight)])
        ]
        return f"{claim.words} {listed(each)}"
    margin = _margin(claim, result)
    if margin is None:
        return f"{claim.name}{there}"
    side = "at least" if claim.side == "min" else "at most"
    why = f", {claim.note}" if claim.note else ""
    return f"{subject(margin)} {side} {units.limit(margin).told(claim.value)}{why}{there}"


def _with_tolerance(unit: Unit, asked: float, allowed: float | None) -> str:
    """Return a target with its tolerance: "2.550 ± 0.003 in"."""
    if allowed is None:
        return unit.exact(asked)
    return f"{unit.exact(asked).removesuffix(unit.name)}± {unit.exact(allowed)}"


def _margin(claim: Bound, result: LineupResult) -> Margin | None:
    every = (margin for weight in result.weights for margin in weight.margins)
    return next((margin for margin in every if margin.bound == claim), None)


def claim_place(claim: Claim, asked: Scenario) -> int | None:
    """Return the line of the file that asks for a claim, where it is known."""
    place = asked.places.get(claim_path(asked, claim))
    return None if place is None else place.line


def change_place(change: Change, asked: Scenario) -> int | None:
    """Return the line of the file that has what is changed, or would have it."""
    place = asked.places.get(change.path) or asked.places.get(change.path[:-1])
    return None if place is None else place.line


def _at(line: int | None) -> str:
    return "" if line is None else f" (line {line})"


def moved(what: Change | Move, names: Mapping[str, str]) -> str:
    """Return what is moved in words; `names` gives each weight label's name."""
    return f"{moved_words(what)} {names.get(what.about or '', what.about or '')}".rstrip()


def moved_words(what: Change | Move) -> str:
    """Return what is moved in words; what it is about follows where it is about something."""
    if what.bound is None:
        return RECIPE.format(what.name) if "recipe" in what.path else what.name
    end = {"min": "minimum ", "max": "maximum ", "both": ""}[what.bound.side]
    figure = what.bound.figure
    words = figure.words if end or figure == DENSITY else figure.target_words
    return f"{end}{words}{' of' if what.about else ''}"


def remedy_line(remedy: Remedy, asked: Scenario, names: Mapping[str, str] = NO_NAMES) -> str:
    """Return a remedy in words: from what to what, with its line and its size in tolerances."""
    told = ", and ".join(_change_line(change, asked, names) for change in remedy.changes)
    rules = dict.fromkeys(sentence(margin, Units.of(asked)) for margin in remedy.left)
    told += "" if remedy.exact else " (within tolerance, not exactly on target)"
    return f"{told} (OUTSIDE THE RULEBOOK: {'; '.join(rules)})" if rules else told


def _change_line(change: Change, asked: Scenario, names: Mapping[str, str]) -> str:
    there = _at(change_place(change, asked))
    if change.path[-1] == "same_density":
        to = "none" if change.to == "none" else " / ".join(" = ".join(g) for g in change.to)
        return f"{change.about}, weights that share one density: {to}{there}"
    size = "" if change.tolerances is None else f": {counted(change.tolerances)}"
    to = f"{change.to:g} {change.unit}".rstrip()
    return f"{moved(change, names)} {change.value:g} → {to}{there}{size}"
