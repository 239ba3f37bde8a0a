"""The CG offset of a ball, against hand-derived balls and the independent one."""

from __future__ import annotations

import numpy as np
import pytest
from oracles.balls import Ellipsoid, weight_and_radii
from oracles.lineups import INCH, RADIUS, Line, manufactured

from optimizer.ball.figures import CG_OFFSET, TOP_WEIGHT
from optimizer.scenario import linear_maps, scenario

KINDS = ["aligned", "aligned triaxial", "tilted 80", "triaxial", "off axis"]


def two_spheres(weight=6800.0, at=(0.0, 0.0, 1.5)):
    """A cover and a core of a radius of 5 cm, moved."""
    solids = (Ellipsoid((RADIUS,) * 3), Ellipsoid((5.0,) * 3, at, host=0))
    line = Line(solids, {"15": weight}, (6.0, 7.0), (0.0, 0.5), ranges=((0.5, 3.0),) * 2)
    return linear_maps(scenario(line.text(), file="line.toml", target_required=True))[0]


@pytest.mark.parametrize(("cover", "core"), [(1.1, 1.5), (1.5, 1.1), (1.2, 1.2)])
def test_two_spheres_have_the_offset_of_the_closed_form(cover, core):
    """The core adds (ρ₂ − ρ₁) of its volume v at d: |c| = |ρ₂ − ρ₁| v d ÷ (ρ₁V + (ρ₂ − ρ₁)v).

    Its slope in ρ₂, ± v d m ÷ m² less |c| v ÷ m, is ± (v ÷ m)(d ∓ |c|); derived by hand.
    """
    whole, v, d = 4 / 3 * np.pi * RADIUS**3, 4 / 3 * np.pi * 5.0**3, 1.5
    ball = two_spheres().ball(np.array([cover, core]))
    mass = cover * whole + (core - cover) * v
    offset = abs(core - cover) * v * d / mass
    assert CG_OFFSET.value(ball) == pytest.approx(offset, abs=1e-12)
    (found,) = ball.measured(CG_OFFSET, None)
    if core != cover:
        sign = np.sign(core - cover)
        assert found.slope[1] == pytest.approx(sign * v / mass * (d - sign * offset))


def test_equal_top_weights_are_not_equal_offsets():
    """|c| = T·a ÷ W: 3 oz are 0.0503 in at 16 lb and 0.0670 in at 12 lb (a = 4.29 in; by hand)."""
    light, heavy = two_spheres(5443.0), two_spheres(7257.0)
    offsets = []
    for linear_map, pounds in ((light, 12), (heavy, 16)):
        first = 3 * 28.349523125 * RADIUS  # 3 oz at the balance's arm, the ball's radius
        shell, core = (float(v) for v in linear_map.volumes)
        by_core = np.array([linear_map.moments[k, 2, 3] for k in (0, 1)])
        densities = np.linalg.solve([[shell, core], by_core], [pounds * 453.59237, first])
        ball = linear_map.ball(densities)
        assert TOP_WEIGHT.value(ball) == pytest.approx(3 * 28.349523125)
        offsets.append(CG_OFFSET.value(ball) / INCH)
    assert offsets == pytest.approx([3 / 16 / 12 * 4.29, 3 / 16 / 16 * 4.29])
    assert [f"{offset:.4f}" for offset in offsets] == ["0.0670", "0.0503"]


@pytest.mark.parametrize("kind", KINDS)
def test_value_and_slope_are_those_of_the_independent_ball(kind):
    """The slope by central differences of the oracle's |c|."""
    line, made = manufactured(np.random.default_rng(9), kind, "cg")
    one = linear_maps(scenario(line.text(), file="line.toml", target_required=True))[0]
    densities, h = np.array(made), 1e-5
    (found,) = one.ball(densities).measured(CG_OFFSET, None)

    def offset(densities):
        return float(np.linalg.norm(weight_and_radii(line.solids, densities, "cg")[2]))

    assert found.value == pytest.approx(offset(densities), abs=1e-9)
    steps = h * np.eye(len(densities))
    slope = [(offset(densities + s) - offset(densities - s)) / (2 * h) for s in steps]
    assert np.allclose(found.slope, slope, rtol=1e-5, atol=1e-7)
