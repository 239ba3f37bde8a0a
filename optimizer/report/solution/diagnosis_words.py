"""What a diagnosis names, in words: a claim, a remedy, each with its line in the file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from optimizer.linear.rows import Margin
from optimizer.linear.targets import NAMES as TARGETS
from optimizer.lineup.result import LineupResult
from optimizer.report.quantities import Unit, Units
from optimizer.report.words import counted, listed, sentence, subject
from optimizer.scenario import Scenario
from optimizer.studies.changes import Change
from optimizer.studies.claims import SHARED, Claim
from optimizer.studies.diagnosis import claim_path
from optimizer.studies.moves import Move
from optimizer.studies.remedies import Remedy

NAMES = {
    "density min": "minimum density of",
    "density max": "maximum density of",
    "density": "density of",
    "viscosity": "viscosity allowed by the recipe of",
    "loading": "loading allowed by the recipe of",
    "class weight": "class weight of",
    "dimension": "dimension",
    "wall min": "minimum wall",
    "top weight min": "minimum top weight",
    "top weight max": "maximum top weight",
    "pin distance min": "minimum pin distance",
    "pin distance max": "maximum pin distance",
    "intermediate differential max": "maximum intermediate differential",
    "density step max": "maximum density step",
}
"""What may be moved, in words; what it is about follows where it is about something."""


def claim_line(claim: Claim, result: LineupResult, weights: Sequence[str] = ()) -> str:
    """Return a claim in words, with its figure and its line in the file.

    `weights` are all that have it, where it is told once for several: each has its own weight.
    """
    asked, units = result.scenario, Units.of(result.scenario)
    there = _at(claim_place(claim, asked))
    target = asked.target
    if target is not None and claim.limit in TARGETS:
        number = TARGETS.index(claim.limit)
        allowed = None if result.exact else target.tolerances[number]
        span = target.spans[number]
        least = "" if span.fixed else f"{units.rg.exact(span.low)} to "
        return f"{claim.limit} {least}{_with_tolerance(units.rg, span.high, allowed)}{there}"
    if claim.limit == "class weight":
        each = [
            _with_tolerance(units.mass, one.mass, None if result.exact else one.tolerance)
            + _at(claim_place(replace(claim, weight=one.label), asked))
            for one in asked.classes
            if one.label in (weights or [str(claim.weight)])
        ]
        return f"class weight {listed(each)}"
    margin = _margin(claim, result)
    if margin is not None:
        side = "at least" if claim.limit.endswith("min") else "at most"
        why = f", {margin.note}" if margin.note else ""
        bound = units.limit(margin).told(margin.bound)
        return f"{subject(margin)} {side} {bound}{why}{there}"
    if claim.limit == SHARED:
        return f"one {claim.part} density for several weights{there}"
    return f"{claim.part} {claim.limit}{there}"


def _with_tolerance(unit: Unit, asked: float, allowed: float | None) -> str:
    """Return a target with its tolerance: "2.550 ± 0.003 in"."""
    if allowed is None:
        return unit.exact(asked)
    return f"{unit.exact(asked).removesuffix(unit.name)}± {unit.exact(allowed)}"


def _margin(claim: Claim, result: LineupResult) -> Margin | None:
    for weight in result.weights:
        for margin in weight.margins:
            if Claim(margin.limit, margin.part, margin.weight) == claim:
                return margin
    return None


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
    about = names.get(what.about or "", what.about or "")
    return f"{NAMES.get(what.name, what.name)} {about}".rstrip()


def remedy_line(remedy: Remedy, asked: Scenario, names: Mapping[str, str] = NAMES) -> str:
    """Return a remedy in words: from what to what, with its line and its size in tolerances."""
    told = ", and ".join(_change_line(change, asked, names) for change in remedy.changes)
    rules = dict.fromkeys(sentence(margin, Units.of(asked)) for margin in remedy.left)
    told += "" if remedy.exact else " (within tolerance, not exactly on target)"
    return f"{told} (OUTSIDE THE RULEBOOK: {'; '.join(rules)})" if rules else told


def _change_line(change: Change, asked: Scenario, names: Mapping[str, str]) -> str:
    there = _at(change_place(change, asked))
    if change.name == SHARED:
        to = "none" if change.to == "none" else " / ".join(" = ".join(g) for g in change.to)
        return f"{change.about}, weights that share one density: {to}{there}"
    size = "" if change.tolerances is None else f": {counted(change.tolerances)}"
    to = f"{change.to:g} {change.unit}".rstrip()
    return f"{moved(change, names)} {change.value:g} → {to}{there}{size}"
