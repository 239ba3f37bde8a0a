"""The diagnosis in the designer's words: what clashes, what alone would do, who blocks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from optimizer.linear.rows import Margin
from optimizer.linear.targets import NAMES as TARGETS
from optimizer.lineup.result import LineupResult
from optimizer.report.document import Block, Heading, Notes
from optimizer.report.quantities import FIXED_UNITS, Unit, Units
from optimizer.report.solution.counting import mending_lines
from optimizer.report.solution.page import class_names
from optimizer.report.words import counted, listed, sentence, subject
from optimizer.scenario import Scenario
from optimizer.studies.changes import Change
from optimizer.studies.claims import SHARED, Claim
from optimizer.studies.conflict import Conflict
from optimizer.studies.diagnosis import Diagnosis, claim_path
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
MOST = 6
"""Remedies that are told on a screen; --json has them all."""


def diagnosis_blocks(found: Diagnosis, result: LineupResult) -> tuple[Block, ...]:
    """Return what is said of an infeasible line-up, for its screen."""
    return tuple(_blocks(found, result))


def _blocks(found: Diagnosis, result: LineupResult) -> Iterator[Block]:
    asked, names = result.scenario, class_names(result)
    for conflict, weights in _alike(found.conflicts):
        what = (
            "These can't hold together"
            if conflict.proven
            else "No line-up was found that keeps all of these"
        )
        yield Heading(f"{what}, in {listed([names[w] for w in weights])}")
        yield Notes(tuple(claim_line(claim, result, weights) for claim in conflict.claims))
        yield Notes((_minimal(conflict, asked),))
    remedies = found.remedies[:MOST]
    mould = ", with the mould shown below" if asked.chosen else ""
    if remedies:
        ruled = " within the rulebook" if found.leaving else ""
        yield Heading(
            f"Any one of these changes would do{mould} (each was solved again)"
            if len(remedies[0].changes) == 1
            else f"No single change{ruled} was found that would do; these two together "
            f"would{mould} (solved again)"
        )
        yield Notes(
            tuple(f"{n}. {remedy_line(r, asked, names)}" for n, r in enumerate(remedies, 1))
        )
    elif found.not_enough:
        yield Heading(f"No single change was found that would do{mould}")
        yield Notes(tuple(mending_lines(asked)))
    if found.ended:
        yield Notes(tuple(_ended(found, names)))
    if found.not_enough and remedies:
        yield Notes(
            (f"Not found to be enough alone: {'; '.join(_not_enough(found.not_enough, names))}.",)
        )
    yield Heading("Which weights can be made")
    yield Notes((*_who(found, names), *_common(found, result)))


def _ended(found: Diagnosis, names: Mapping[str, str]) -> Iterator[str]:
    """Yield what was left untried where the search for reasons and changes came to its end."""
    yield (
        "The search for reasons and changes ended at its fixed amount of work: there may be "
        "changes that are not listed."
    )
    unasked = [name for label, name in names.items() if label not in found.alone]
    if unasked:
        yield f"Not asked why: {listed(unasked)}."
    if found.untried:
        count = found.untried + len(found.not_enough) + len(found.remedies) + len(found.leaving)
        yield f"Not all changes were tried: {found.untried} of {count} were not."
    if unasked or found.untried:
        yield "To have them tried, solve fewer weights at a time, in several files."


def _common(found: Diagnosis, result: LineupResult) -> Iterator[str]:
    if found.common is not None:
        line = remedy_line(found.common, result.scenario)
        yield f"The nearest target that the whole line can share: {line}."


def _not_enough(some: Sequence[Move], names: dict[str, str]) -> Iterator[str]:
    """Yield what doesn't do alone, class weights and materials together."""
    about: dict[str, list[str]] = {}
    for move in some:
        about.setdefault(NAMES.get(move.name, move.name), []).append(
            names.get(move.about or "", move.about or "")
        )
    for name, things in about.items():
        yield f"{name} {listed(things)}" if any(things) else name


def _alike(conflicts: Sequence[Conflict]) -> Iterator[tuple[Conflict, list[str]]]:
    """Yield conflicts that differ by the weight only once, with all their weights."""
    groups: dict[tuple[Any, ...], tuple[Conflict, list[str]]] = {}
    for one in conflicts:
        alone = len(one.weights) == 1
        key = (
            one.starts,
            one.minimal,
            *((c.limit, c.part, None if alone else c.weight) for c in one.claims),
        )
        groups.setdefault(key, (one, []))[1].extend(one.weights)
    yield from groups.values()


def _minimal(conflict: Conflict, asked: Scenario) -> str:
    """Say what was shown of a conflict. Figures that it leaves open are still one for its weights.

    A weight by itself has nothing to share.
    """
    named = {claim.limit for claim in conflict.claims}
    figures = zip(TARGETS, asked.target.spans if asked.target else (), strict=False)
    some = [name for name, _ in figures if name not in named and len(conflict.weights) > 1]
    shared = f", with one {listed(some)} for all these weights" if some else ""
    if not conflict.proven:
        said, end = f"No line-up was found that keeps these together{shared}", " Not proven."
        said += f" (from {conflict.starts} starts)"
    else:
        said, end = f"Proven not to hold together{shared}", ""
    if conflict.minimal:
        return f"{said}; without any one of them a line-up was found.{end}"
    return f"{said}; some items may be unnecessary.{end}"


def claim_line(claim: Claim, result: LineupResult, weights: Sequence[str] = ()) -> str:
    """Return a claim in words, with its figure and its line in the file.

    `weights` are all that have it, where it is told once for several: each has its own weight.
    """
    asked, units = result.scenario, Units.of(result.scenario)
    line = claim_place(claim, asked)
    there = "" if line is None else f" (line {line})"
    target = asked.target
    if target is not None and claim.limit in TARGETS:
        number = TARGETS.index(claim.limit)
        allowed = None if result.exact else target.tolerances[number]
        span = target.spans[number]
        least = "" if span.fixed else f"{units.rg.exact(span.low)} to "
        return f"{claim.limit} {least}{_with_tolerance(units.rg, span.high, allowed)}{there}"
    if claim.limit == "class weight":
        told = [
            (
                _with_tolerance(units.mass, one.mass, None if result.exact else one.tolerance),
                claim_place(replace(claim, weight=one.label), asked),
            )
            for one in asked.classes
            if one.label in (weights or [str(claim.weight)])
        ]
        each = [mass + (f" (line {at})" if at else "") for mass, at in told]
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
    path = claim_path(asked, claim)
    place = asked.places.get(path)
    return None if place is None else place.line


def remedy_line(remedy: Remedy, asked: Scenario, names: Mapping[str, str] = NAMES) -> str:
    """Return a remedy in words: from what to what, with its line and its size in tolerances."""
    told = ", and ".join(_change_line(change, asked, names) for change in remedy.changes)
    rules = dict.fromkeys(sentence(margin, Units.of(asked)) for margin in remedy.left)
    told += "" if remedy.exact else " (within tolerance, not exactly on target)"
    return f"{told} (OUTSIDE THE RULEBOOK: {'; '.join(rules)})" if rules else told


def _change_line(change: Change, asked: Scenario, names: Mapping[str, str]) -> str:
    path = change.path
    place = asked.places.get(path) or asked.places.get(path[:-1])
    there = "" if place is None or place.line is None else f" (line {place.line})"
    about = names.get(change.about or "", change.about or "")
    name = f"{NAMES.get(change.name, change.name)} {about}".rstrip()
    if change.name == SHARED:
        to = "none" if change.to == "none" else " / ".join(" = ".join(g) for g in change.to)
        return f"{change.about}, weights that share one density: {to}{there}"
    size = "" if change.tolerances is None else f": {counted(change.tolerances)}"
    to = f"{change.to:g} {change.unit}".rstrip()
    return f"{name} {change.value:g} → {to}{there}{size}"


def _who(found: Diagnosis, names: dict[str, str]) -> Iterator[str]:
    able, unable, unknown = (
        [names[label] for label, made in found.alone.items() if made is known]
        for known in (True, False, None)
    )
    rest = f"for {listed(unknown)} no line-up was found, nor proven impossible"
    if len(able) == len(names):
        yield "Each weight can be made on its own."
    elif len(unable) == len(names):
        yield "No weight can be made, even on its own."
    elif len(unknown) == len(names):
        yield "No ball was found for any weight, even on its own; none is proven impossible."
    elif able and unable and not unknown:
        yield f"On their own, {listed(able)} can be made; {listed(unable)} can't."
    elif found.alone:
        told = [f"{listed(able)} can be made"] if able else []
        told += [f"{listed(unable)} can't be made"] if unable else []
        told += [rest] if unknown else []
        yield f"On their own, {', '.join(told)}."
    if len(found.together) > 1 and len(found.together) < len(able):
        together = listed([names[label] for label in found.together])
        yield f"Together, {together} can be made as one line."


def conflict_data(conflict: Conflict, result: LineupResult) -> list[dict[str, Any]]:
    """Return the members of a conflict as JSON types: name, part, weight, line of the file."""
    return [
        {
            "limit": claim.limit,
            "part": claim.part
            if claim.part is None or isinstance(claim.part, str)
            else list(claim.part),
            "weight": claim.weight or (conflict.weights[0] if len(conflict.weights) == 1 else None),
            "line": claim_place(claim, result.scenario),
            "words": claim_line(claim, result),
        }
        for claim in conflict.claims
    ]


def diagnosis_data(found: Diagnosis, result: LineupResult) -> dict[str, Any]:
    """Return what the key "infeasible" of a solution holds, beside the nearest line-up."""
    conflicts = [conflict_data(one, result) for one in found.conflicts]
    enough = [_remedy_data(one, result.scenario) for one in found.remedies]
    not_enough = [
        {
            "limit": move.name,
            "about": move.about,
            "from": float(f"{move.value / FIXED_UNITS[move.quantity][1]:.9g}"),
            "to": None,
            "unit": FIXED_UNITS[move.quantity][0] or None,
        }
        for move in found.not_enough
    ]
    return {
        "conflict": conflicts[0] if conflicts else None,
        "conflicts": conflicts,
        "conflict_is_minimal": [one.minimal for one in found.conflicts],
        "conflict_is_proven": [one.proven for one in found.conflicts],
        "remedies": [*(one[0] for one in enough if len(one) == 1), *not_enough],
        "pairs": [one for one in enough if len(one) > 1],
        "shared_target": None
        if found.common is None
        else _remedy_data(found.common, result.scenario),
        "no_shared_target_proven": found.no_common is True,
        "alone": dict(found.alone),
        "changes_untried": found.untried,
        "together": list(found.together),
    }


def _remedy_data(remedy: Remedy, asked: Scenario) -> list[dict[str, Any]]:
    """Return the changes of a remedy, each with the rules of the rulebook that they leave."""
    told = {
        "status": remedy.result.status,
        "outside_rules": sorted({margin.limit for margin in remedy.left}),
    }
    return [_change_data(change, asked) | told for change in remedy.changes]


def _change_data(change: Change, asked: Scenario) -> dict[str, Any]:
    """Return a change, in the scenario's own unit, which it names."""
    place = asked.places.get(change.path) or asked.places.get(change.path[:-1])
    return {
        "limit": change.name,
        "about": change.about,
        "from": change.value,
        "to": change.to,
        "unit": change.unit or None,
        "tolerances": change.tolerances,
        "line": None if place is None else place.line,
    }
