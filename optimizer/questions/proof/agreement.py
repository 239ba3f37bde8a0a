"""Whether the numbers of a file of proofs are those of a scenario."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from math import inf
from typing import Any

from optimizer.ball.figures import CG_OFFSET, RADII
from optimizer.ball.sought import Pour
from optimizer.ball.weight_class import LinearMap
from optimizer.certificate.claims import MALFORMED
from optimizer.lineup.goal_rows import Sought
from optimizer.lineup.moulds.chosen import with_chosen
from optimizer.lineup.proof.question import ball_data, class_limits
from optimizer.questions.line_up.data import identity
from optimizer.questions.line_up.saved.reading import dimensions
from optimizer.questions.proof.file import ProofFile
from optimizer.scenario import Scenario, linear_maps

ALIKE = 1e-9
"""Relative difference of two numbers that are the same: bounds are written in full."""


def differences(proof: ProofFile, scenario: Scenario) -> Iterator[str]:
    """Yield where a proof asks for something that a scenario doesn't ask for.

    Balls must have its moments, within the error that they are known to. A claim may ask for less:
    it may leave out limits, or make them wider, as it says; or it may be of steps near a line-up,
    within densities that it says.
    """
    mould = with_chosen(scenario, dimensions(proof.data, scenario, proof.file))
    if mould is None:
        yield "its parts don't fit"
        return
    maps = {linear_map.label: linear_map for linear_map in linear_maps(mould)}
    if proof.scenario.get("sha256") != identity(scenario)["sha256"]:
        yield f"{scenario.file} is not the scenario that it was made of (another SHA-256)"
    try:
        for label, ball in proof.data["balls"].items():
            if label not in maps:
                yield f"{label}: there is no such weight"
            elif not _same_ball(ball, ball_data(maps[label])):
                yield f"{label}: the moments are not those of the parts as drawn"
        for number, claim in enumerate(proof.data["claims"], start=1):
            for what in _of_claim(claim["question"], maps, scenario):
                yield f"claim {number}, {what}"
            for label in _other_materials(claim, maps):
                yield f"claim {number}, {label}: materials that are not those of its parts"
    except MALFORMED:
        yield "they can't be compared"


def _of_claim(
    question: Mapping[str, Any], maps: Mapping[str, LinearMap], scenario: Scenario
) -> Iterator[str]:
    """Yield what a claim asks of balls that the scenario doesn't."""
    if not question.get("steps"):  # near a line-up, at its figures
        yield from _of_target(question, scenario)
    yield from _of_sharing(question, maps, scenario)
    for k, label in enumerate(question["balls"]):
        if (linear_map := maps.get(label)) is None:
            continue
        sought = list(_sought(k, linear_map, scenario))
        known = [
            limit.data(0.0)
            for off in (0.0, linear_map.mass_tolerance or 0.0)
            for limit in class_limits(k, linear_map, off)
        ]
        for pour, j in zip(linear_map.pours, question["columns"][k], strict=True):
            place, ends = linear_map.places[pour.part], {"least": pour.low, "most": pour.high}
            known.append({"of": "density", "at": [place], **ends})
            if what := _of_density(question, j, _held(pour, question["limits"], k, place)):
                yield f"{label}: {pour.part} {what}"
        for limit in (each for each in question["limits"] if each["k"] == k):
            asked = any(_follows(limit, each, question["level"]) for each in known)
            if not asked and not any(_beyond(limit, each) for each in sought):
                yield f"{label}: a limit, {str(limit['of'])[:40]!r}, that the scenario doesn't have"
        if question["about_cg"][k] != (linear_map.about == "cg"):
            yield f"{label}: RGs are about another point"


def _of_sharing(
    question: Mapping[str, Any], maps: Mapping[str, LinearMap], scenario: Scenario
) -> Iterator[str]:
    """Yield the parts to which a claim gives one density where the scenario doesn't."""
    poured: dict[int, list[tuple[str, str]]] = {}
    for label, columns in zip(question["balls"], question["columns"], strict=True):
        for pour, j in zip(maps[label].pours if label in maps else (), columns, strict=False):
            poured.setdefault(j, []).append((pour.part, label))
    for places in poured.values():
        part, first = places[0]
        groups = [group for group in scenario.sharing.get(part, ()) if first in group]
        if any(p != part or not any(label in g for g in groups) for p, label in places[1:]):
            yield f"{part} is poured at one density where it needn't be"


def _of_target(question: Mapping[str, Any], scenario: Scenario) -> Iterator[str]:
    """Yield which figures a claim asks of the line that the scenario doesn't.

    By how much a ball may miss them is the claim's own.
    """
    asks = zip((*RADII, CG_OFFSET), (*question["figures"], question["offset"]), strict=True)
    for figure, (low, high) in asks if scenario.target else ():
        asked = scenario.target.get(figure)
        if asked is None:
            idle = figure == CG_OFFSET and (low, high) == (0.0, None)
            if not (idle or (figure == RADII[2] and not question["asked"])):
                yield f"{figure.words} that the scenario doesn't ask for"
            continue
        ends = low, inf if high is None else high
        sought = scenario.goal is not None and scenario.goal.path == ("target", figure.key)
        if not _within(asked.low, asked.high, *ends) and not (
            sought and _within(*ends, asked.low, asked.high)
        ):
            yield f"another {figure.words} than the scenario's"


def _other_materials(claim: Mapping[str, Any], maps: Mapping[str, LinearMap]) -> Iterator[str]:
    """Yield the weights whose parts have other materials than a claim about pours says."""
    if "fewest" in claim:
        pairs = zip(claim["question"]["balls"], claim["fewest"]["materials"], strict=True)
        for label, materials in pairs:
            own = [pour.material for pour in maps[label].pours] if label in maps else None
            if materials != own:
                yield label


def _of_density(question: Mapping[str, Any], j: int, pour: Pour) -> str | None:
    """Return what a claim asks of a density that the scenario doesn't, if anything."""
    if not (steps := question.get("steps", {})):
        wider = _within(pour.low, pour.high, *question["densities"][j])
        return None if wider else "is held within narrower densities"
    poured = str(j) not in steps or _same(steps[str(j)], pour.step)
    return None if poured else "is poured in steps that the scenario doesn't have"


def _same_ball(ball: Mapping[str, Any], drawn: Mapping[str, Any]) -> bool:
    errors, pairs = drawn["errors"], zip(ball["moments"], drawn["moments"], strict=True)
    of = [errors[0], *[errors[1]] * 3, *[errors[2]] * 6]
    return ball["aligned"] == drawn["aligned"] and all(
        abs(float(a) - b) <= error
        for own, other in pairs
        for a, b, error in zip(own, other, of, strict=True)
    )


def _sought(k: int, linear_map: LinearMap, scenario: Scenario) -> Iterator[dict[str, Any]]:
    """Yield the range in which the scenario seeks the end of a limit of class `k`."""
    if scenario.goal is not None:
        sought = Sought.of(scenario.goal, [linear_map])
        for limit in class_limits(k, linear_map, 0.0):
            if limit.bound in sought.bounds:
                yield replace(limit, low=sought.low, high=sought.high).data(0.0)


def _beyond(limit: Mapping[str, Any], sought: Mapping[str, Any]) -> bool:
    """Whether the ends of a limit lie in the range in which they are sought."""
    if not _same_figure(limit, sought):
        return False
    ends = [end for end in (limit["least"], limit["most"]) if end is not None]
    return all(_within(end, end, sought["least"], sought["most"]) for end in ends)


def _held(pour: Pour, limits: Iterable[Mapping[str, Any]], k: int, place: int) -> Pour:
    """Return a pour within the densities that a claim's own limits on it allow."""
    own = [
        each for each in limits if (each["k"], each["of"], each["at"]) == (k, "density", [place])
    ]
    least = [each["least"] for each in own if each["least"] is not None]
    most = [each["most"] for each in own if each["most"] is not None]
    return replace(pour, low=max([pour.low, *least]), high=min([pour.high, *most]))


def _same_figure(limit: Mapping[str, Any], known: Mapping[str, Any]) -> bool:
    return bool(limit["of"] == known["of"] and list(limit["at"]) == list(known["at"]))


def _follows(limit: Mapping[str, Any], known: Mapping[str, Any], level: float) -> bool:
    """Whether what keeps a `known` limit keeps this one, with `level` tolerances of room."""
    if not _same_figure(limit, known):
        return False
    room = limit["tolerance"], known.get("tolerance")
    ends = [
        (low if low is not None else -inf, high if high is not None else inf)
        for low, high in ((each["least"], each["most"]) for each in (known, limit))
    ]
    return (not level or room[0] is None or _same(*room)) and _within(*ends[0], *ends[1])


def _within(low: float, high: float, least: float, most: float) -> bool:
    """Whether a range lies in another, to rounding."""
    return (low >= least or _same(low, least)) and (high <= most or _same(high, most))


def _same(a: float | None, b: float | None) -> bool:
    if a is None or b is None:
        return a is b
    return abs(a - b) <= ALIKE * max(1.0, abs(b))
