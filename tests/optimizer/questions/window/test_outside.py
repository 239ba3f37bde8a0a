"""The proof of a window: nothing lies outside of its lines, and its corners are reached.

Windows of random cores are proven and checked. Balls that are drawn at random, and measured by the
oracle, lie within the regions of the proof; a proof whose lines are moved in is refused.
"""

from __future__ import annotations

import copy
import json

import numpy as np
import pytest
from oracles.balls import weight_and_radii
from oracles.lineups import OUNCE, RADIUS, Line, solids

from optimizer.certificate.claims import FORMAT, outcomes
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.questions.window.outside import outside
from optimizer.questions.window.window import window
from optimizer.scenario import scenario

IN = 1e-4
"""cm by which a line is moved in: more than a window's error, less than any window is wide."""


def _drawn(seed: int, kind: str = "aligned", about: str = "cg") -> Line:
    """A line of one weight that can be made, without a target."""
    random = np.random.default_rng([seed, len(about)])
    line = Line(solids(random, kind), {}, (6.4, 6.4), (0.1, 0.1), None, about)
    middle = np.array([np.mean(ends) for ends in line.ranges])
    mass, _, cg = weight_and_radii(line.solids, middle, about)
    top = float(np.linalg.norm(cg)) * mass / RADIUS / OUNCE
    return line.but(weights={"15": mass}, top=(None, round(2.0 * top + 1.0, 2)))


def _proof(line: Line) -> dict | None:
    """The file of proofs of the window of a line's one weight, as it is read back."""
    some = scenario(line.text(), file="line.toml", target_required=False)
    (weight,) = window(some).weights
    if not weight.alone.proven or weight.alone.empty:
        return None
    shown = outside([weight.map], some.sharing, weight.alone, LinearSolver())
    assert shown is not None, line
    claim = shown.evidence.called("window")
    data = {"format": FORMAT, "balls": dict(claim.balls), "claims": [claim.data]}
    return json.loads(json.dumps(data))


@pytest.mark.turns(3)
@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("seed", range(3))
def test_a_window_is_proven_and_holds_every_ball_that_is_drawn(seed, about):
    line = _drawn(seed, about=about)
    data = _proof(line)
    if data is None:
        pytest.fail(f"window {seed} isn't exact: draw another")
    (outcome,) = outcomes(data)
    assert outcome.wrong is None
    assert outcome.reached >= 3
    claim = data["claims"][0]
    (low, high), (least, most) = claim["question"]["figures"][:2]
    random, inside = np.random.default_rng(seed), 0
    lower, upper = np.array(line.ranges).T
    for _ in range(800):
        rho = random.uniform(lower, upper)
        rho *= line.weights["15"] / weight_and_radii(line.solids, rho, about)[0]
        if np.any(rho < lower) or np.any(rho > upper):
            continue
        mass, (rg, _, top), cg = weight_and_radii(line.solids, rho, about)
        if np.linalg.norm(cg) * mass / RADIUS > line.top[1] * OUNCE or not low <= rg <= high:
            continue
        if not least <= top - rg <= most:
            continue
        inside += 1
        assert any(
            region["rg"][0] <= rg <= region["rg"][1]
            and np.dot(region["least"], (rg, 1.0)) <= top - rg + 1e-9
            and top - rg <= np.dot(region["most"], (rg, 1.0)) + 1e-9
            for region in claim["regions"]
        ), (rho, rg, top - rg)
    assert inside > 3


def test_a_proof_whose_lines_are_moved_in_is_refused():
    """By a line-up that is there: at a corner, or by a box that isn't empty any more."""
    data = _proof(_drawn(0))
    assert data is not None
    regions = data["claims"][0]["regions"]
    refused = 0
    for number, side in [(n, side) for n in range(len(regions)) for side in ("least", "most")][
        3::17
    ]:
        false = copy.deepcopy(data)
        region = false["claims"][0]["regions"][number]
        before = list(region[side])
        region[side][1] += IN if side == "least" else -IN
        _moved(false["claims"][0]["none"], before, region[side])
        (outcome,) = outcomes(false)
        assert outcome.wrong is not None, (number, side)
        refused += 1
    assert refused >= 2


def _moved(node: list, before: list[float], after: list[float]) -> None:
    """Move a line in a tree, too, so that it agrees with the region."""
    if node[0] == "line" and node[1:3] == before:
        node[1:3] = after
    for part in node:
        if isinstance(part, list) and part and isinstance(part[0], str | list):
            _moved(part, before, after)
