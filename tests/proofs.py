"""Files of proofs that solve writes, and balls that contradict what is claimed falsely.

A ball is measured from the moments in the file by numpy: nothing here comes from the checker.
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterator, Mapping
from functools import cache
from math import atan2, hypot, inf
from typing import Any, NamedTuple

import numpy as np
from answers import example, solved
from optimizer_texts import plain_juniper, shipped
from store import stored

from optimizer.lineup.result import LineupResult
from optimizer.questions.proof.file import proof_file
from optimizer.questions.solve.about import about
from optimizer.questions.solve.evidence import evidence

Json = dict[str, Any]
SURE = 1e-9
"""g, cm: what a float of a ball can't be wrong by."""


def _offset(asked: str) -> str:
    text = plain_juniper().replace("about ", f"cg_offset = {asked}\nabout ", 1)
    return text.replace("tolerance    = { ", "tolerance    = { cg_offset = 0.002, ", 1)


OWN = {
    "out of reach": plain_juniper().replace("differential = 0.040 ", "differential = 0.150 "),
    "about the centre": plain_juniper().replace('about        = "cg"', 'about = "centre"'),
    "shared, out of reach": shipped("juniper-b").replace("rg           = 2.55", "rg = 2.65"),
    "offset": re.sub(r"(?m)^1[345] = .*\n", "", _offset("0.040")),
    "offset out of reach": _offset("0.2"),
}
SHIPPED = ("alder", "elder", "hawthorn", "juniper-b", "larch-metric", "tansy", "two-pours", "yew")
LINES = (*SHIPPED, *OWN)


class Written(NamedTuple):
    """A file of proofs, and the densities that were found, by the labels of coupled weights."""

    content: bytes
    made: dict[tuple[str, ...], np.ndarray]


@cache
def written(name: str) -> Written:
    """Return what solve writes of a line."""
    return stored(_written)(example(name) if name in SHIPPED else solved(OWN[name]))


def _written(result: LineupResult) -> Written:
    known = about(result, worth=False, second_opinion=False)
    groups = result.groups if known.ceilings else ()
    made = {group.lineup.labels: group.x[: group.lineup.columns.figures] for group in groups}
    return Written(proof_file(result.scenario, evidence(known)), made)


def proofs(name: str) -> Json:
    """Return the file of a line's proofs."""
    return dict(json.loads(written(name).content))


def balls_of(data: Json, claim: Json) -> list[Json]:
    """Return the balls that a claim is about."""
    return [data["balls"][label] for label in claim["question"]["balls"]]


def measured(ball: Json, about_cg: bool, rho: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
    """Mass (g), sorted RGs (cm) and first moments (g cm) of a ball at these densities: numpy's."""
    m, x, y, z, xx, yy, zz, xy, xz, yz = rho @ np.array(ball["moments"])
    first, second = np.array([x, y, z]), np.array([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]])
    second = second - about_cg * np.outer(first, first) / m
    inertia = np.trace(second) * np.eye(3) - second
    return float(m), np.sqrt(np.linalg.eigvalsh(inertia / m)), first


def asked(
    data: Json, claim: Json, x: np.ndarray
) -> Iterator[tuple[Mapping[str, Any] | str, float, float, float]]:
    """Yield what a claim asks of each ball by itself at densities `x`: value, least, most."""
    question, offset = claim["question"], claim["question"]["offset"]
    for j, (low, high) in enumerate(question["densities"]):
        yield f"density {j}", float(x[j]), low, high
    for k, ball in enumerate(balls_of(data, claim)):
        rho = x[question["columns"][k]]
        mass, radii, first = measured(ball, question["about_cg"][k], rho)
        moment = float(np.linalg.norm(first))
        near, far = offset[0] or -inf, inf if offset[1] is None else offset[1]
        yield "offset", moment / mass, near, far
        for limit in question["limits"]:
            if limit["k"] != k:
                continue
            at = [float(rho[part]) for part in limit["at"]]
            value = {
                "mass": mass,
                "density": sum(at[:1]),
                "step": sum(at[:1]) - sum(at[1:]),
                "imbalance": moment,
                "intermediate": float(radii[2] - radii[1]),
                "mark": ball["radius"] * atan2(hypot(first[0], first[1]), first[2]),
            }[limit["of"]]
            own = limit.get("level")
            level = question["level"] if own is None else min(own, question["level"])
            room = level * (limit.get("tolerance") or 0.0)
            least = -inf if limit.get("least") is None else limit["least"] + room
            yield limit, value, least, inf if limit.get("most") is None else limit["most"] - room


def own_figures(data: Json, claim: Json, x: np.ndarray) -> np.ndarray:
    """Return low RG, differential and intermediate differential of each ball, cm."""
    question, found = claim["question"], []
    for k, ball in enumerate(balls_of(data, claim)):
        _, radii, _ = measured(ball, question["about_cg"][k], x[question["columns"][k]])
        low, middle, high = radii
        found.append((low, high - low, high - middle))
    return np.array(found)


def surely_meets(data: Json, claim: Json, x: np.ndarray) -> bool:
    """Whether a line-up meets all that a claim asks, rounding notwithstanding."""
    question = claim["question"]
    if not all(low + SURE <= v <= high - SURE for _, v, low, high in asked(data, claim, x)):
        return False
    own = own_figures(data, claim, x)
    for i in range(2 + question["asked"]):
        (low, high), off = question["figures"][i], question["off"][i] - SURE
        if max(own[:, i].max() - off, low + SURE) > min(own[:, i].min() + off, high - SURE):
            return False
    return True


def moved(data: Json, number: int, x: np.ndarray, away: float = 1e-6) -> Json:
    """Return the file with one claim, which asks for no more than a line-up has: so it's false.

    What the line-up doesn't meet is moved to it, and as little beyond; the proof stays.
    """
    data = copy.deepcopy(data)
    claim = data["claims"][number]
    data["claims"], question = [claim], claim["question"]
    question["level"] = 0.0
    for what, value, least, most in list(asked(data, claim, x)):
        below, above = value - away < least, value + away > most
        if isinstance(what, dict):
            what.update({"least": value - away} if below else {})
            what.update({"most": value + away} if above else {})
        elif what == "offset":
            ends = question["offset"]
            question["offset"] = [
                max(0.0, value - away) if below else ends[0],
                value + away if above else ends[1],
            ]
        else:
            ends = question["densities"][int(what.split()[1])]
            ends[:] = min(ends[0], value - away), max(ends[1], value + away)
    for i, values in enumerate(own_figures(data, claim, x).T[: 2 + question["asked"]]):
        (low, high), middle = question["figures"][i], (values.min() + values.max()) / 2
        question["off"][i] = max(question["off"][i], values.max() - middle + away)
        if not low + away <= middle <= high - away:
            question["figures"][i] = [max(0.0, middle - away), middle + away]
    return dict(json.loads(json.dumps(data)))


def line_up(name: str, claim: Json) -> np.ndarray:
    """Return densities of the balls that a claim is about: those that were found, or mid-range."""
    found = written(name).made.get(tuple(claim["question"]["balls"]))
    return np.mean(claim["question"]["densities"], axis=1) if found is None else found
