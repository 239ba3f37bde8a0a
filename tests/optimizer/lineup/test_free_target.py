"""A free target: one unknown of the whole line, chosen for the margins."""

from __future__ import annotations

import numpy as np
import pytest
from oracles.lineups import manufactured


def _least(result):
    return min(
        m.tolerances
        for weight in result.weights
        for m in weight.margins
        if m.movable and m.tolerances is not None and not m.rule_only
    )


def _figure(low, high):
    return f"{{ min = {low}, max = {high} }}" if low < high else f"{low}"


def _asked(juniper, rg, differential):
    text = juniper.replace("rg           = 2.550 ", f"rg = {_figure(*rg)} ")
    return text.replace("= 0.042 ", f"= {_figure(*differential)} ")


RG, DIFFERENTIAL = (2.52, 2.58), (0.036, 0.046)


@pytest.mark.parametrize(
    ("rg", "differential"), [(RG, (0.042, 0.042)), ((2.55, 2.55), DIFFERENTIAL), (RG, DIFFERENTIAL)]
)
def test_a_free_target_is_met_alike_and_beats_every_fixed_one(solved, juniper, rg, differential):
    """Fixed targets on a grid over the spans are all candidates, each solved on its own.

    Both free: one of the fixed figures stays the example's, to keep the grid small.
    """
    result = solved(_asked(juniper, rg, differential))
    assert result.status == "feasible"
    for figure, (low, high) in zip(result.figures, (rg, differential), strict=True):
        assert low * 2.54 - 1e-9 <= figure <= high * 2.54 + 1e-9
    for weight in result.weights:
        radii = weight.ball.radii
        assert radii.low == pytest.approx(result.figures[0], abs=1e-4)
        assert radii.differential == pytest.approx(result.figures[1], abs=1e-4)
    best = _least(result)
    rgs = np.linspace(*rg, 4) if rg[0] < rg[1] else [rg[0]]
    differentials = np.linspace(*differential, 4) if differential[0] < differential[1] else [0.042]
    fixed = []
    for one in rgs:
        for other in differentials if len(rgs) == 1 else differentials[:2]:
            found = solved(_asked(juniper, (one, one), (other, other)))
            fixed.append(_least(found) if found.status == "feasible" else -np.inf)
    assert max(fixed) > -np.inf
    assert best > max(fixed) - 0.02


def test_a_free_intermediate_differential_is_one_for_the_line(solved):
    line, _ = manufactured(np.random.default_rng(8), "triaxial", "cg", intermediate=True)
    middle = line.intermediate[0]
    heavy, light = line.weights["15"], 0.995 * line.weights["15"]
    line = line.but(
        intermediate=(0.8 * middle, 1.2 * middle),
        weights={"15": heavy, "14": light},
        top=(None, None),
    )
    result = solved(line)
    assert result.status == "feasible"
    inner = [weight.ball.radii.intermediate_differential for weight in result.weights]
    assert inner[0] == pytest.approx(inner[1], abs=2e-4)
    assert 0.8 * middle - 1e-4 <= inner[0] <= 1.2 * middle + 1e-4
    assert result.figures[2] == pytest.approx(inner[0], abs=1e-4)
