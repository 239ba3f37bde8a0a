"""What is proven of the best on the steps: against every choice, and false claims are refused."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from oracles.lineups import OUNCE, Line, manufactured
from oracles.steps import grid, measured, pointed

from optimizer.certificate.claims import FORMAT, outcomes
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.pipeline import solve_lineup
from optimizer.questions.schedule.evidence import evidence
from optimizer.questions.schedule.steps.group import SAME, Group
from optimizer.questions.schedule.steps.nearer import Nearer
from optimizer.questions.schedule.steps.steps import OnSteps, on_steps
from optimizer.scenario import scenario

BESIDE = 1e-5
"""Tolerances: an answer known by the oracle, and the question asked a little beside it."""


def _on_steps(line: Line, step: float) -> tuple[OnSteps, Group]:
    some = scenario(line.text(), file="line.toml", target_required=True)
    pours = tuple(replace(pour, step=step) for pour in some.pours)
    outcome = on_steps(solve_lineup(replace(some, pours=pours)))
    (group,) = outcome.groups
    return outcome, group


def _balls(group: Group, line: Line, step: float, k: int = 0) -> np.ndarray:
    """Every choice of densities of a weight within reach of the line-up that was put on steps."""
    found = group.counts.lineup.columns.densities(k, group.counts.x)
    ends = zip(found, line.ranges, strict=True)
    return np.array(list(product(*(grid(x, step, group.reach, span) for x, span in ends))))


def _proven(group: Group, off: float) -> bool:
    return Nearer(group.counts, group.reach, off, LinearSolver()).none() is not None


def _file(outcome: OnSteps) -> dict:
    """The file of proofs, as it is read back."""
    every = [each for each in evidence(outcome) if not isinstance(each, str)]
    balls = {label: ball for each in every for label, ball in each.balls.items()}
    data = {"format": FORMAT, "balls": balls, "claims": [each.data for each in every]}
    return json.loads(json.dumps(data))


def _wrong(data: dict) -> list[str | None]:
    return [outcome.wrong for outcome in outcomes(data)]


@pytest.mark.turns(4)
@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("kind", ["aligned", "aligned triaxial", "round"])
@pytest.mark.parametrize("seed", range(4))
def test_it_is_proven_up_to_the_best_of_every_choice_and_not_beyond(kind, about, seed):
    """A band of top weight cuts most choices off; the oracle measures all of them.

    Of some lines no choice is left: then nothing holds any tolerances.
    """
    random = np.random.default_rng([seed, len(kind), len(about)])
    step = float(random.choice([0.01, 0.02, 0.05]))
    line = pointed(random, kind, about, intermediate=kind == "aligned triaxial")
    _, group = _on_steps(line, step)
    balls = _balls(group, line, step)
    off, room = measured(line, "15", balls)
    best = float(np.min(off[room >= -1e-9]))
    assert best == pytest.approx(group.off, abs=SAME)
    for short in (0.5 * best, SAME):
        assert _proven(group, best - short)
    assert not _proven(group, best + BESIDE)
    assert not _proven(group, 1.5 * best)


def test_a_limit_that_no_choice_keeps_is_proven_to_be_the_reason():
    """Of a band of top weight as narrow as this, only some lines have a choice within."""
    random, none = np.random.default_rng(9), 0
    for _ in range(8):
        line = pointed(random, "aligned", "cg", intermediate=False)
        _, group = _on_steps(line, 0.02)
        ounces = group.weights[0].ball.top_weight / OUNCE
        narrow = line.but(top=(ounces + 0.0150, ounces + 0.0155))
        outcome, group = _on_steps(narrow, 0.02)
        off, room = measured(narrow, "15", _balls(group, narrow, 0.02))
        held = bool(np.any((room >= -1e-9) & (off <= 1.0)))
        assert outcome.held == held
        assert (group.none_held is None) == held
        if not held:
            none += 1
            words = outcome.lineup.infeasible.proof
            assert "proven that there are none" in words or "proven that none there" in words
    assert 0 < none < 8


def _two_weights(random: np.random.Generator) -> tuple[Line, OnSteps, Group]:
    """A cover that is shared by two weights, the second 150 g less: a feasible line-up."""
    while True:
        line, _ = manufactured(random, "aligned", "cg")
        weights = {"15": line.weights["15"], "14": line.weights["15"] - 150.0}
        line = line.but(weights=weights, same={"cover": '"all"'}, top=(None, None))
        some = scenario(line.text(), file="line.toml", target_required=True)
        if solve_lineup(some).accepted:
            return line, *_on_steps(line, 0.02)


@pytest.mark.parametrize("seed", range(3))
def test_of_weights_that_share_a_density_the_worse_one_decides(seed):
    line, _, group = _two_weights(np.random.default_rng(seed))
    by_cover: dict[float, float] = {}
    for k, label in enumerate(group.labels):
        balls = _balls(group, line, 0.02, k)
        off, _ = measured(line, label, balls)
        for cover in np.unique(balls[:, 0]).tolist():
            own = float(np.min(off[balls[:, 0] == cover]))
            by_cover[cover] = max(own, by_cover.get(cover, 0.0))
    best = min(by_cover.values())
    assert best == pytest.approx(group.off, abs=SAME)
    assert group.none_nearer
    assert not _proven(group, best + BESIDE)


def test_a_step_that_binary_fractions_miss_is_proven_as_well():
    """9 kg/m³ come to 0.009000000000000001 g/cm³."""
    line = pointed(np.random.default_rng(1), "aligned", "cg", intermediate=False)
    assert 9 * 0.001 != 0.009
    outcome, group = _on_steps(line, 9 * 0.001)
    assert group.none_nearer
    assert _wrong(_file(outcome)) == [None, None]


def test_off_the_pin_axis_nothing_is_called_proven():
    line = pointed(np.random.default_rng(3), "tilted 15", "cg", intermediate=False)
    outcome, group = _on_steps(line, 0.01)
    (told,) = evidence(outcome)
    assert told == (
        f"15: largest deviation {group.off:.4f} tolerances, the best found on the steps within 3 "
        "of the line-up: not proven to be the best"
    )


@pytest.fixture(scope="module")
def file_of_two():
    """The proof of two weights that share a density, and a line-up as good as is told."""
    _, outcome, _ = _two_weights(np.random.default_rng(5))
    data = _file(outcome)
    assert _wrong(data) == [None, None]
    return data


def _nodes(tree: list, kind: str) -> Iterator[list]:
    """Yield the nodes of a kind in a tree."""
    if tree[0] == kind:
        yield tree
    for part in tree:
        if isinstance(part, list) and part:
            yield from _nodes(part, kind)


def test_a_claim_of_more_than_was_shown_is_refused(file_of_two):
    """What line-ups may be off by is raised, in proportion: one of them then is that near."""
    false = copy.deepcopy(file_of_two)
    question = false["claims"][0]["question"]
    more = false["claims"][1]["question"]
    question["off"], question["limits"] = more["off"], more["limits"]
    assert _wrong(false)[0] is not None


def test_steps_that_are_left_out_of_a_proof_are_noticed(file_of_two):
    """At each split of a density: a step is passed over, or the split is no multiple of it."""
    splits, refused = sum(1 for _ in _nodes(file_of_two["claims"][0]["none"], "density")), 0
    assert splits > 5
    for i in range(splits):
        for by in ((-0.02, 0.0), (0.0, 0.02), (0.01, 0.01), (0.0, 0.01)):
            false = copy.deepcopy(file_of_two)
            node = list(_nodes(false["claims"][0]["none"], "density"))[i]
            node[2:4] = [round(at + off, 6) for at, off in zip(node[2:4], by, strict=True)]
            refused += _wrong(false)[0] is not None
    assert refused == 4 * splits


@pytest.mark.parametrize("steps", [None, 0.01, 0.005])
def test_finer_steps_are_not_what_was_shown(file_of_two, steps):
    false = copy.deepcopy(file_of_two)
    question = false["claims"][0]["question"]
    question["steps"] = {} if steps is None else dict.fromkeys(question["steps"], steps)
    assert "densities that aren't looked at" in _wrong(false)[0]


def test_a_wider_reach_is_not_what_was_shown(file_of_two):
    """Each density in turn may be further away; of the weight that is no obstacle, it may."""
    refused = []
    for j in range(len(file_of_two["claims"][0]["question"]["densities"])):
        false = copy.deepcopy(file_of_two)
        false["claims"][0]["question"]["densities"][j] = [0.5, 4.0]
        refused.append(_wrong(false)[0] is not None)
    assert refused[0]
    assert sum(refused) >= 4


def test_a_line_up_beside_the_steps_is_no_line_up_on_them(file_of_two):
    false = copy.deepcopy(file_of_two)
    false["claims"][1]["some"][0] += 0.001
    assert "isn't allowed" in _wrong(false)[1]
