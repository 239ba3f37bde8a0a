"""A conflict names at least one claim, and says no more of it than was shown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from answers import solved
from asked import Called, claims_called
from optimizer_texts import head, read
from oracles.lineups import manufactured

from optimizer.lineup.claims import claims, without
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import fruitless, search_rounds
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.proof.evidence import Evidence
from optimizer.lineup.proof.proof import Relaxation
from optimizer.lineup.rows import Lineup
from optimizer.paper.document import Notes
from optimizer.questions.why_not import conflict as studied
from optimizer.questions.why_not.conflict import Conflict, conflict
from optimizer.questions.why_not.diagnosis import Diagnosis, diagnose
from optimizer.questions.why_not.page import diagnosis_blocks
from optimizer.questions.why_not.words import claim_place
from optimizer.scenario import linear_maps, scenario


def _infeasible(number, share):
    """A triaxial core within 0.01 g/cm³ of a ball that is made, asked for another third RG."""
    random = np.random.default_rng([77, number])
    line, made = manufactured(random, "aligned triaxial", "cg", intermediate=True)
    inner = share * line.intermediate[0]
    line = line.but(intermediate=(inner, inner), ranges=[(x - 0.01, x + 0.01) for x in made])
    triaxial = scenario(line.text(), file="x.toml", target_required=True)
    asked = Lineup.of(linear_maps(triaxial), triaxial.sharing)
    return triaxial, asked, solve_lineup(triaxial, exact=True)


@pytest.mark.parametrize("number", range(3))
def test_a_conflict_with_an_intermediate_differential_is_not_empty_and_is_minimal(number):
    """With every claim let go a ball is left, whatever it is: so nothing is proven then."""
    _, asked, result = _infeasible(number, 0.8)
    assert result.status == "infeasible"
    solver, every = LinearSolver(), claims(asked, result.weights)
    assert not Relaxation(without(asked, every), solver).verdict().proven
    clash = conflict(asked, result.weights, solver)
    assert clash.claims
    assert clash.proven
    kept = [c for c in every if c not in clash.claims]
    assert Relaxation(without(asked, kept), solver).verdict().proven
    for claim in clash.claims if clash.minimal else ():
        left = without(asked, [*kept, claim])
        near = [(left.columns.middle, None)]
        start = [
            (
                left.columns.filled(
                    [w.ball.densities for w in result.weights],
                    left.columns.middle[left.columns.figures :],
                ),
                None,
            )
        ]
        rounds = [near, start, *search_rounds(left, left.columns.middle)]
        assert not fruitless(left, solver, rounds)


@pytest.mark.parametrize("proven", [True, False])
def test_where_no_claim_is_to_blame_there_is_no_conflict(monkeypatch, proven):
    """As if nothing were ever possible, whatever is let go."""
    _, asked, result = _infeasible(0, 0.8)
    never = Evidence("", {}, {}, {"none": []})
    monkeypatch.setattr(studied, "_decided", lambda *_: never if proven else None)
    monkeypatch.setattr(studied, "_searched", lambda *_: (17, None))
    assert conflict(asked, result.weights, LinearSolver()) is None


def _shown(clash, result, asked=None):
    diagnosis = Diagnosis((clash,), (), (), None, {"15": False}, ())
    shown = result if asked is None else replace(result, scenario=asked)
    blocks = [b for b in diagnosis_blocks(diagnosis, shown) if isinstance(b, Notes)]
    return blocks[1].lines[0]


def test_the_words_say_only_what_was_shown():
    """A line-up without each claim only where one was found; what is shared besides is named."""
    _, asked, result = _infeasible(0, 0.8)
    (label,) = (w.label for w in result.weights)
    claims = tuple(claims_called(asked, [Called("low RG"), Called("class weight", None, label)]))
    shown = _shown(Conflict(claims, (label,), True, 0), result)
    assert shown == "Proven not to hold together; without any one of them a line-up was found."
    shown = _shown(Conflict(claims, (label,), False, 0), result)
    assert shown == "Proven not to hold together; some items may be unnecessary."
    shown = _shown(Conflict(claims, (label, label), True, 9), result)
    assert shown == (
        "No line-up was found that keeps these together, with one differential and intermediate "
        "differential for all these weights (from 9 starts); without any one of them a line-up "
        "was found. Not proven."
    )


def test_a_rule_that_only_tells_of_one_part_still_binds_another():
    """The cover's density is given, so the rule's limit on it is not for the solver to keep."""
    line, made = manufactured(np.random.default_rng(5), "aligned", "cg")
    ranges = [(made[0], made[0]), *((x - 0.1, x + 0.1) for x in made[1:])]
    text = line.but(ranges=ranges, limits='rulebook = "usbc"').text()
    ruled = scenario(text, file="x.toml", target_required=True)
    asked = Lineup.of(linear_maps(ruled), ruled.sharing)
    (linear_map,) = without(asked, []).maps
    rule = [bound for bound in linear_map.bounds if bound.words == "USBC density max"]
    assert [bound.of for bound in rule] == ["cover", "mantle", "block", "insert"]
    assert [bound.of for bound in rule if bound.held(linear_map)] == ["mantle", "block", "insert"]


def test_a_rule_is_told_with_the_rulebooks_line_and_beside_a_part_that_is_given():
    """A cover of 1.10 g/cm³: at 15 lb the keel would need 1.10 + what is missing over its volume.

    That is more than the rulebook's 3.80 for a part; the material itself may have up to 9.
    """
    radius, (r, h) = 4.29 * 2.54, (1.1 * 2.54, 5.0 * 2.54)
    ball, keel = 4 / 3 * np.pi * radius**3, np.pi * r * r * (h - 2 * r) + 4 / 3 * np.pi * r**3
    assert 1.10 + (14.94 * 453.59237 - 1.10 * ball) / keel > 3.80
    free = "{ min = 2.0, max = 3.4 }", "{ min = 0.0, max = 0.2 }"
    text = (
        head("Fir", {"15": 15.0}, free)
        + """\
[materials.shell]
density = 1.10
[materials.dense]
density = [1.0, 9.0]
[[parts]]
name = "cover"
shape = { kind = "sphere", diameter = 8.58 }
material = "shell"
[[parts]]
name = "keel"
inside = "cover"
shape = { kind = "capsule", diameter = 2.2, height = 5.0 }
material = "dense"
[limits]
rulebook = "usbc"
"""
    )
    diagnosis = diagnose(solved(text))
    (clash,) = diagnosis.conflicts
    assert {(claim.words, claim.of) for claim in clash.claims} == {
        ("class weight", None), ("fixed density", "cover"), ("USBC density max", "keel"),
    }  # fmt: skip
    lines = text.splitlines()
    places = {c.words: lines[(claim_place(c, read(text)) or 0) - 1] for c in clash.claims}
    assert places["USBC density max"] == 'rulebook = "usbc"'
    assert places["fixed density"] == "density = 1.10"
    assert places["class weight"] == "15 = 15.0"
