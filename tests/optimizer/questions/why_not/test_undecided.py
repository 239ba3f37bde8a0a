"""Tilted cores with a planted reason, where nothing is proven: what is found, and says so."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from oracles.lineups import NAMES, RANGES, manufactured

from optimizer.lineup.claims import claims, without
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import fruitless, search_rounds
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.proof.proof import Relaxation
from optimizer.lineup.rows import Lineup
from optimizer.paper.document import Heading, Notes
from optimizer.questions.why_not.conflict import conflict
from optimizer.questions.why_not.data import diagnosis_data
from optimizer.questions.why_not.diagnosis import diagnose
from optimizer.questions.why_not.page import diagnosis_blocks
from optimizer.scenario import linear_maps, scenario

KINDS = ("tilted 15", "triaxial", "off axis")


def _planted(kind, number):
    """A tilted line without a line-up, and the one end of one range that shuts its ball out.

    The cover's density is given: three densities for weight, RG and differential, so that the
    manufactured ball stands alone. A range that ends just short of it is the reason, and letting
    that range reach it is known to do, whatever a solver says.
    """
    random = np.random.default_rng([31, len(kind), number])
    while True:
        line, made = manufactured(random, kind, "cg")
        part, side = int(random.integers(1, 4)), int(random.integers(2))
        gap, (low, high) = random.uniform(0.02, 0.06), RANGES[part]
        span = (low, made[part] - gap) if side else (made[part] + gap, high)
        if not span[0] < span[1] - 0.02:
            continue
        ranges = [(made[0], made[0]), *RANGES[1:]]
        ranges[part] = span
        asked = scenario(line.but(ranges=ranges).text(), file="x.toml", target_required=True)
        result = solve_lineup(asked)
        assert result.status != "infeasible"
        if result.status == "undecided":
            return result, ("materials", NAMES[part], "density", side), made[part]


@pytest.fixture(scope="module", autouse=True)
def unproven():
    """As if the checker found no proof; else all of these are proven."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Relaxation, "holds", property(lambda _: False))
        yield


@pytest.fixture(scope="module", params=[(kind, n) for kind in KINDS for n in range(2)], ids=str)
def planted(request, unproven):
    """A result, the path of the number that is the reason, what it should be, and the diagnosis."""
    result, path, enough = _planted(*request.param)
    return result, path, enough, diagnose(result)


@pytest.mark.turns(6, "undecided")
def test_the_planted_reason_is_found_as_a_remedy_and_no_dearer_than_planted(planted):
    """Each remedy is solved afresh; the planted one goes no farther than the ball that was made."""
    _, path, enough, diagnosis = planted
    for remedy in diagnosis.remedies:
        again = scenario(remedy.text, file="x.toml", target_required=True)
        assert solve_lineup(again).status == remedy.result.status
    planted = {r.changes[0].path: r.changes[0] for r in diagnosis.remedies}
    assert path in planted
    step = 0.001
    beyond = planted[path].to - enough if path[-1] else enough - planted[path].to
    assert beyond <= 2 * step


@pytest.mark.turns(6, "undecided")
def test_the_conflict_is_called_not_proven_and_is_minimal(planted):
    """Without what is not named nothing is found; without any one that is named, a line-up is."""
    result, _, _, diagnosis = planted
    (clash,) = diagnosis.conflicts
    assert not clash.proven
    assert clash.minimal
    assert clash.starts > 10
    lineup = Lineup.of(linear_maps(result.scenario), result.scenario.sharing)
    asked = replace(lineup, within=True)
    named = [c for c in claims(asked, result.weights) if c not in clash.claims]
    solver = LinearSolver()
    assert _misses(without(asked, named), solver)
    near = asked.starting(asked.point_of(result))
    for claim in clash.claims:
        assert not _misses(without(near, [*named, claim]), solver)
    assert conflict(near, result.weights, solver) == clash


def _misses(lineup: Lineup, solver: LinearSolver) -> bool:
    return bool(fruitless(lineup, solver, search_rounds(lineup, lineup.columns.middle)))


@pytest.mark.turns(6, "undecided")
def test_the_page_and_the_data_say_that_nothing_is_proven(planted):
    result, _, _, diagnosis = planted
    blocks = diagnosis_blocks(diagnosis, result)
    heads = [block.text for block in blocks if isinstance(block, Heading)]
    notes = [line for block in blocks if isinstance(block, Notes) for line in block.lines]
    assert heads[0].startswith("No line-up was found that keeps all of these")
    starts = diagnosis.conflicts[0].starts
    assert any(f"(from {starts} starts)" in line and "Not proven" in line for line in notes)
    assert not any("Proven not to hold" in line for line in notes)
    data = diagnosis_data(diagnosis, result)
    assert data["conflict_is_proven"] == [False]
    assert data["conflict_is_minimal"] == [True]
    assert data["alone"] == {"15": None}
    assert data["no_shared_target_proven"] is False
