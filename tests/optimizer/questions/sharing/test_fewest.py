"""The fewest pours: as many as brute force finds, proven; and false claims are refused."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from optimizer_texts import read, shipped
from oracles.lineups import Line, manufactured
from oracles.pours import fewest_pours

from optimizer.certificate.box import Box
from optimizer.certificate.claims import FORMAT, Outcome, outcomes
from optimizer.certificate.groupings import Branch, Clash, Places
from optimizer.certificate.question import Ball, Limit, Question
from optimizer.certificate.rows import Rows
from optimizer.questions.proof.agreement import differences
from optimizer.questions.proof.file import ProofFile, proof_file
from optimizer.questions.sharing import fewest as searching
from optimizer.questions.sharing.fewest import QUICK, THOROUGH, Fewest
from optimizer.questions.sharing.sharing import Frontier, frontier
from optimizer.scenario import Scenario
from shared.what_if import WhatIf

MATERIALS = ("cover", "mantle", "block", "block")
"""Of a line's parts: block and insert are of one material."""
WIDE = (0.8, 3.6)
TWO = {"16": 1.04, "15": 1.0}
THREE = {"16": 1.04, "15": 1.0, "14": 0.97}


def drawn(seed: int, shares: Mapping[str, float], **changes: object) -> Line:
    """Weights around a manufactured ball's, about the centre."""
    line, _ = manufactured(np.random.default_rng(seed), "aligned", "centre")
    weights = {label: share * line.weights["15"] for label, share in shares.items()}
    ranges = (*line.ranges[:2], WIDE, WIDE)
    return line.but(**{"weights": weights, "top": (None, 8.0), "ranges": ranges, **changes})


def scenario_of(line: Line) -> Scenario:
    return read(line.text().replace('material = "insert"', 'material = "block"'))


def known(line: Line) -> Fewest:
    proven = frontier(scenario_of(line), THOROUGH).fewest
    assert proven is not None
    return proven


def checked(fewest: Fewest, scenario: Scenario) -> Outcome:
    """What the file's checker finds, once it is written and read back."""
    (outcome,) = outcomes(json.loads(proof_file(scenario, [fewest.proof])))
    return outcome


@pytest.mark.turns(4)
@pytest.mark.parametrize("seed", [1, 2, 3, 4, 6, 8, 11, 12, 20])
def test_the_fewest_pours_of_two_weights_are_those_of_brute_force(seed: int) -> None:
    """All 60 groupings of 8 places, for either pin axis of each weight, solved by scipy."""
    line = drawn(seed, TWO)
    proven = known(line)
    assert proven.closed
    assert proven.found == fewest_pours(line, MATERIALS)
    outcome = checked(proven, scenario_of(line))
    assert outcome.wrong is None
    assert outcome.fewest is not None
    assert (outcome.fewest.pours, outcome.fewest.found) == (proven.found, proven.found)


@pytest.mark.turns(3)
@pytest.mark.parametrize("seed", [2, 4, 99])
def test_of_three_weights_too(seed: int) -> None:
    """Up to 5075 groupings."""
    line = drawn(seed, THREE)
    proven = known(line)
    assert proven.closed
    assert proven.found == fewest_pours(line, MATERIALS)
    assert checked(proven, scenario_of(line)).wrong is None


@pytest.mark.parametrize("seed", [2, 6])
def test_a_density_that_is_given_or_shared_counts_once(seed: int) -> None:
    """A given cover is one pour in both weights; so is a cover that has one density in both."""
    line, densities = manufactured(np.random.default_rng(seed), "aligned", "centre")
    near, cover = {"16": 1.002, "15": 1.0}, float(densities[0])
    given = drawn(seed, near, ranges=((cover, cover), line.ranges[1], WIDE, WIDE))
    shared = drawn(seed, TWO, same={"cover": '"all"'})
    for each in (given, shared):
        proven = known(each)
        assert proven.closed
        assert proven.found == fewest_pours(each, MATERIALS) < 8


@pytest.fixture(scope="module")
def holly() -> Scenario:
    return read(shipped("holly"))


@pytest.fixture(scope="module")
def result(holly: Scenario) -> Frontier:
    return frontier(holly, 2_000)


def test_an_example_is_proven_about_the_cg(holly: Scenario, result: Frontier) -> None:
    """The engine's line-up has as many, and is in the file."""
    assert result.fewest is not None
    assert result.fewest.closed
    assert result.fewest.found == result.points[-1].pours
    outcome = checked(result.fewest, holly)
    assert outcome.wrong is None
    assert outcome.fewest is not None
    assert outcome.fewest.found == outcome.fewest.pours == result.fewest.found


def test_more_effort_shows_more_and_none_what_materials_tell_apart() -> None:
    """Alder's low RG is free: one for all weights. In the end the bound is what was found."""
    scenario = read(shipped("alder"))
    points = frontier(scenario, 0).points
    bounds = [searching.fewest(scenario, points, effort) for effort in (0, QUICK, 1_000, 4_000)]
    least = [bound.at_least for bound in bounds if bound is not None]
    assert least == sorted(least)
    assert least[0] == len({pour.material for pour in scenario.pours})
    assert least[-1] == points[-1].pours
    assert all(bound is not None and checked(bound, scenario).wrong is None for bound in bounds)


def test_of_a_long_line_some_weights_are_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """What two of three weights need, the line needs; no line-up is in the file then."""
    monkeypatch.setattr(searching, "PLACES", 8)
    line = drawn(2, THREE)
    scenario = scenario_of(line)
    proven = known(line)
    assert proven.proof.question["balls"] == ["16", "14"]
    assert proven.at_least <= fewest_pours(line, MATERIALS)
    outcome = checked(proven, scenario)
    assert outcome.wrong is None
    assert outcome.fewest is not None
    assert outcome.fewest.found is None


def test_off_the_pin_axis_only_what_needs_no_relaxation_is_proven() -> None:
    """The checker has no rows for parts off the axis: materials are told apart, nothing else."""
    line, _ = manufactured(np.random.default_rng(3), "off axis", "centre")
    scenario = read(line.text())
    proven = frontier(scenario).fewest
    assert proven is not None
    assert proven.at_least == len(line.solids)
    assert checked(proven, scenario).wrong is None


def _nodes(tree: list[Any]) -> Iterator[list[Any]]:
    yield tree
    for part in tree[2:] if tree[0] == "place" else ():
        yield from _nodes(part)


def _alike(claim: dict[str, Any]) -> Iterator[tuple[list[int], list[int]]]:
    """Yield places of different weights that the line-up of a claim has at one density."""
    columns, some = claim["question"]["columns"], claim["fewest"]["some"]
    places = [(k, some[j]) for k, own in enumerate(columns) for j in own]
    for (p, (k, one)), (q, (n, other)) in combinations(enumerate(places), 2):
        if one == other and k != n:
            yield [k, n], [p, q]


def _planted(claim: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield false claims, each by one change, and what was changed."""

    def changed() -> tuple[dict[str, Any], dict[str, Any]]:
        whole = copy.deepcopy(claim)
        return whole, whole["fewest"]

    for more in (1, 2, 5):
        whole, own = changed()
        own["pours"] += more
        yield f"{more} pours more", whole
    count = len(list(_nodes(claim["fewest"]["groups"])))
    for n in range(count):
        whole, own = changed()
        node = list(_nodes(own["groups"]))[n]
        if node[0] == "place":
            del node[2 + n % (len(node) - 2)]
            yield f"a way of node {n} not looked at", whole
        elif node[0] == "apart":
            node[-1] = node[1]
            yield f"a place twice in leaf {n}", whole
            whole, own = changed()
            del list(_nodes(own["groups"]))[n][-1]
            yield f"a place fewer in leaf {n}", whole
        else:
            node[:] = ["apart", *range(claim["fewest"]["pours"])]
            yield f"all places apart in leaf {n}", whole
    alike = list(_alike(claim))
    for n, clash in enumerate(claim["fewest"]["clashes"]):
        for balls, pair in alike:
            whole, own = changed()
            own["clashes"][n] |= {"balls": balls, "same": [pair]}
            yield f"clash {n} of what a line-up has: {pair}", whole
        whole, own = changed()
        own["clashes"][n]["same"] = [block[:1] for block in clash["same"]]
        yield f"clash {n} of places by themselves", whole
    for n in range(len(claim["fewest"]["some"])):
        whole, own = changed()
        own["some"][n] += 1e-3
        yield f"density {n} of the line-up moved", whole


def test_planted_false_claims_are_refused(result: Frontier) -> None:
    """Each claims more than is shown, or leaves something out."""
    assert result.fewest is not None
    proof = result.fewest.proof
    claim = json.loads(json.dumps(proof.data))
    planted = list(_planted(claim))
    assert len(planted) >= 60
    claims = [claim, *(whole for _, whole in planted)]
    found = list(outcomes({"format": FORMAT, "balls": dict(proof.balls), "claims": claims}))
    assert found[0].wrong is None
    assert [what for (what, _), one in zip(planted, found[1:], strict=True) if not one.wrong] == []


def test_a_question_that_is_not_the_scenarios_is_told(result: Frontier, holly: Scenario) -> None:
    """A claim may be true of a question with more ties, limits or materials: not of the line."""
    assert result.fewest is not None
    own = json.loads(proof_file(holly, [result.fewest.proof]))

    def told(change: Sequence[Any], value: object) -> list[str]:
        data = copy.deepcopy(own)
        at = data["claims"][0]
        for key in change[:-1]:
            at = at[key]
        at[change[-1]] = value
        return list(differences(ProofFile("p.json", data["scenario"], WhatIf(), data, ()), holly))

    question = own["claims"][0]["question"]
    assert told(["about"], "as it was") == []
    materials = own["claims"][0]["fewest"]["materials"][1]
    (what,) = told(["fewest", "materials", 1], [*materials[:-1], "other"])
    assert "materials that are not those of its parts" in what
    (what,) = told(["question", "columns", 1, 2], question["columns"][0][2])
    assert "poured at one density where it needn't be" in what


def test_a_tie_within_a_ball_keeps_a_density_step() -> None:
    """The step between two parts at one density is 0, not a density less."""
    half = Fraction(1, 2)
    ball = Ball(Fraction(10), ({"m": Fraction(1)},) * 2, {}, aligned=False)
    whole = Question(
        (ball,), ((0, 1),), ((half, Fraction(2)),) * 2, (), (False,), ((half, half),) * 3,
        (half, half, half), asked=False, offset=(Fraction(0), None),
    )  # fmt: skip
    step = Limit(0, "step", (0, 1), -half, half, tolerance=None, level=None)
    question = Places(replace(whole, limits=(step,)), ("a", "a")).tied([0], ((0, 1),))
    assert question.columns == ((0, 0),)
    box = Box((), (), question.figures, question.densities)
    assert not any(Rows(question, box).row("limit", 0).form.values())


def test_a_clash_bars_the_last_tie_that_it_lacks() -> None:
    """Of three places that can't all be alike, two that are bar the third, and no other."""
    ends = ((Fraction(1), Fraction(2)),) * 4
    ball = Ball(Fraction(10), ({"m": Fraction(1)},) * 4, {}, aligned=True)
    question = Question(
        (ball,), ((0, 1, 2, 3),), ends, (), (False,), (ends[0],) * 3, (Fraction(0),) * 3,
        asked=False, offset=(Fraction(0), None),
    )  # fmt: skip
    places, clash = Places(question, ("a",) * 4), Clash(((0, 1, 2),))
    free = Branch(places, [clash], ())
    assert not any(free.apart(a, b) for a in range(4) for b in range(a))
    branch = Branch(places, [clash], (frozenset({0, 1}),))
    assert [branch.apart(0, 2), branch.apart(2, 1)] == [True, True]
    assert [branch.apart(0, 1), branch.apart(0, 3), branch.apart(2, 3)] == [False] * 3
    assert Branch(places, [clash], (frozenset({0, 1, 2}),)).broken == 0
