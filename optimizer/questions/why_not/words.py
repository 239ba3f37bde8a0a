"""The claims and remedies of a diagnosis in words, each with its line in the file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from optimizer.ball.figures import DENSITY, TARGETED, WEIGHT
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
"""The limit of a recipe that may be moved, in words."""


def claim_line(claim: Claim, result: LineupResult, weights: Sequence[str] = ()) -> str:
    """Return a claim in words, with its figure and its line in the file.

    `weights` are all that have it, if it is named once for several: each has its own class weight.
    """
    asked, units = result.scenario, Units.of(result.scenario)
    there = _at(claim_place(claim, asked))
    if isinstance(claim, Other):
        return f"one {claim.of} density for several weights{there}"
    if claim.side == "both" and claim.figure in TARGETED:
        unit = units.by(claim.figure.quantity)
        least = "" if claim.low == claim.high else f"{unit.exact(claim.low)} to "
        most = _with_tolerance(unit, claim.high, claim.tolerance, exact=result.exact)
        return f"{claim.words} {least}{most}{there}"
    if claim.side == "both" and claim.figure == WEIGHT:
        each = [
            _with_tolerance(units.mass, drawing.mass, drawing.tolerance, exact=result.exact)
            + _at(claim_place(replace(claim, path=("weights", drawing.label)), asked))
            for drawing in asked.classes
            if drawing.label in (weights or [str(claim.weight)])
        ]
        return f"{claim.words} {listed(each)}"
    margins = (margin for weight in result.weights for margin in weight.margins)
    margin = next((margin for margin in margins if margin.bound == claim), None)
    if margin is None:
        return f"{claim.name}{there}"
    side = "at least" if claim.side == "min" else "at most"
    why = f", {claim.note}" if claim.note else ""
    return f"{subject(margin)} {side} {units.limit(margin).told(claim.value)}{why}{there}"


def _with_tolerance(unit: Unit, asked: float, tolerance: float | None, *, exact: bool) -> str:
    """Return a target, unless asked for exactly with its tolerance: "2.550 ± 0.003 in"."""
    if exact or tolerance is None:
        return unit.exact(asked)
    return f"{unit.exact(asked).removesuffix(unit.name)}± {unit.exact(tolerance)}"


def claim_place(claim: Claim, asked: Scenario) -> int | None:
    """Return the line of the file that asks for a claim, if it is known."""
    place = asked.places.get(claim_path(asked, claim))
    return None if place is None else place.line


def change_place(change: Change, asked: Scenario) -> int | None:
    """Return the line of the file that has the changed number, or would have it."""
    place = asked.places.get(change.path) or asked.places.get(change.path[:-1])
    return None if place is None else place.line


def _at(line: int | None) -> str:
    return "" if line is None else f" (line {line})"


def moved(what: Change | Move, names: Mapping[str, str]) -> str:
    """Return in words what is moved; `names` gives each weight label's name."""
    return f"{moved_words(what)} {names.get(what.about or '', what.about or '')}".rstrip()


def moved_words(what: Change | Move) -> str:
    """Return in words what is moved, without the part or weight it is about."""
    if what.bound is None:
        return RECIPE.format(what.name) if "recipe" in what.path else what.name
    end = {"min": "minimum ", "max": "maximum ", "both": ""}[what.bound.side]
    figure = what.bound.figure
    words = figure.words if end or figure == DENSITY else figure.target_words
    return f"{end}{words}{' of' if what.about else ''}"


def remedy_line(remedy: Remedy, asked: Scenario, names: Mapping[str, str] = NO_NAMES) -> str:
    """Return a remedy in words: each change with its line and its size in tolerances."""
    changes = ", and ".join(_change_line(change, asked, names) for change in remedy.changes)
    rules = dict.fromkeys(sentence(margin, Units.of(asked)) for margin in remedy.left)
    changes += "" if remedy.exact else " (within tolerance, not exactly on target)"
    return f"{changes} (OUTSIDE THE RULEBOOK: {'; '.join(rules)})" if rules else changes


def _change_line(change: Change, asked: Scenario, names: Mapping[str, str]) -> str:
    there = _at(change_place(change, asked))
    if change.path[-1] == "same_density":
        to = "none" if change.to == "none" else " / ".join(" = ".join(g) for g in change.to)
        return f"{change.about}, weights that share one density: {to}{there}"
    size = "" if change.tolerances is None else f": {counted(change.tolerances)}"
    to = f"{change.to:g} {change.unit}".rstrip()
    return f"{moved(change, names)} {change.value:g} → {to}{there}{size}"
