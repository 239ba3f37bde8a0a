"""Manufactured line-ups: choose densities, let an oracle measure the ball, ask for that again.

Whatever the oracle measured can be poured, so the solver must find a line-up, back on target.
"""

from __future__ import annotations

import numpy as np
import pytest
from oracles.balls import rotation, weight_and_radii
from oracles.lineups import INCH, POUND, manufactured
from scipy.spatial.transform import Rotation

ON_TARGET = 0.00005 * INCH
"""cm: what a stated density's rounding may do to an RG or a differential."""


def test_oracle_rotates_about_fixed_axes_right_handed():
    """Scipy's lower-case "xyz" are rotations about the fixed axes, in that order."""
    angles = (20.0, -35.0, 110.0)
    assert np.allclose(
        rotation(angles), Rotation.from_euler("xyz", angles, degrees=True).as_matrix()
    )


@pytest.mark.parametrize(
    ("kind", "about", "count", "intermediate"),
    [
        ("aligned", "centre", 200, False),
        ("aligned", "cg", 200, False),
        ("aligned triaxial", "cg", 60, True),
        ("tilted 15", "cg", 60, False),
        ("tilted 80", "cg", 60, False),
        ("triaxial", "cg", 60, False),
        ("triaxial", "cg", 60, True),
        ("off axis", "cg", 60, False),
        ("off axis", "centre", 60, True),
        ("round", "cg", 60, False),
    ],
)
def test_what_was_measured_can_be_poured_again(solved, kind, about, count, intermediate):
    random = np.random.default_rng([count, len(kind), len(about), intermediate])
    missed = []
    for number in range(count):
        line, _ = manufactured(random, kind, about, intermediate=intermediate)
        result = solved(line)
        if result.status != "feasible":
            missed.append((number, result.status))
            continue
        densities = result.weights[0].ball.densities
        poured, found, _ = weight_and_radii(line.solids, densities.tolist(), about)
        assert abs(poured - line.weights["15"]) < 0.001 * POUND
        assert abs(found[0] - line.rg[0]) < ON_TARGET
        assert abs(found[2] - found[0] - line.differential[0]) < ON_TARGET
        if line.intermediate:
            assert abs(found[2] - found[1] - line.intermediate[0]) < ON_TARGET
    assert missed == []


def test_a_near_round_ball_is_not_sold_for_margin(solved):
    """Seen to happen: 5 tolerances of later margin for 3e-4 cm² of RG², in the 24th of this seed.

    Its differential is 0.00001 in; whatever is found must be within the rounding of it.
    """
    random = np.random.default_rng(5)
    for _ in range(23):
        manufactured(random, "tilted 15", "cg")
    line, _ = manufactured(random, "tilted 15", "cg")
    assert line.differential[0] < 0.00002 * INCH
    result = solved(line)
    assert result.status == "feasible"
    radii = result.weights[0].ball.radii
    assert abs(radii.differential - line.differential[0]) < 4e-6
