"""Many balls at once against numpy's eigenvalues, at random and where axes are equal or nearly."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from geometry.many_balls import ManyBalls, rows_of

RG = 6.5
"""cm, as of a ball."""
MASS = 6800.0


def moments(second: np.ndarray, cg: np.ndarray, turn: np.ndarray) -> np.ndarray:
    """J (4, 4) of a body of MASS with these second moments ÷ mass about its CG, turned."""
    J = np.zeros((4, 4))
    J[:3, :3] = turn @ np.diag(second) @ turn.T + np.outer(cg, cg)
    J[:3, 3] = J[3, :3] = cg
    J[3, 3] = 1.0
    return MASS * J


def known(J: np.ndarray, about: str) -> tuple[np.ndarray, np.ndarray]:
    """Inertia ÷ mass by its definition about the CG or the centre: eigenvalues, and axes."""
    mass, cg = J[3, 3], J[:3, 3] / J[3, 3]
    second = J[:3, :3] / mass - (np.outer(cg, cg) if about == "cg" else 0.0)
    return np.linalg.eigh(np.trace(second) * np.eye(3) - second)


def _turns(count: int, seed: int) -> np.ndarray:
    return np.asarray(Rotation.random(count, rng=np.random.default_rng(seed)).as_matrix())


GAPS = (0.3, 0.01, 1e-4, 1e-6, 1e-9, 1e-12, 1e-15, 0.0)
"""cm² between two second moments ÷ mass: the last ones are rounding, or none at all."""


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("far", GAPS)
@pytest.mark.parametrize("near", GAPS)
def test_radii_are_numpys_however_close_they_are(near: float, far: float, about: str) -> None:
    """Second moments 14, 14 − near and 14 − near − far, and the other way round, turned any way."""
    turns = _turns(40, 7)
    random = np.random.default_rng(8)
    Js = []
    for k, turn in enumerate(turns):
        s = np.array([14.0, 14.0 - near, 14.0 - near - far])
        cg = random.normal(0.0, 0.1, 3) if k % 2 else np.zeros(3)
        Js.append(moments(s if k % 3 else 28.0 - s, cg, np.eye(3) if k % 5 == 0 else turn))
    found = np.array(ManyBalls(rows_of(np.array(Js)), about).radii).T
    exact = np.sqrt([known(J, about)[0] for J in Js])
    assert np.abs(found / exact - 1.0).max() < 1e-9
    assert np.all(np.diff(found, axis=1) > -1e-8)


def test_what_is_no_ball_has_no_radius() -> None:
    """Densities simulated below zero may leave more mass than inertia: no figure holds there."""
    J = np.diag([-14.0, -14.0, -14.0, 1.0])
    none = ManyBalls(rows_of(J[None]), "cg")
    assert [radius.tolist() for radius in none.radii] == [[0.0]] * 3
    assert np.isnan(none.exact_radii).all()


def test_single_radii_are_exact_to_rounding() -> None:
    """Where no two are within a thousandth of an inch, no digit that counts is lost."""
    turns = _turns(2000, 3)
    low, more = np.random.default_rng(5).uniform([13.0, 0.1], [14.0, 0.6], (2000, 2)).T
    seconds = np.column_stack([low, low + more, low + 1.7 * more])
    Js = np.array([
        moments(s, np.array([0.0, 0.03, 0.1]), turn) for s, turn in zip(seconds, turns, strict=True)
    ])  # fmt: skip
    found = np.array(ManyBalls(rows_of(Js), "cg").radii).T
    exact = np.sqrt([known(J, "cg")[0] for J in Js])
    assert np.abs(found / exact - 1.0).max() < 1e-13


def test_a_perfect_sphere_has_one_radius_and_no_axis() -> None:
    J = moments(np.full(3, 14.0), np.zeros(3), np.eye(3))
    for about in ("cg", "centre"):
        ball = ManyBalls(rows_of(J[None]), about)
        assert np.array(ball.radii) == pytest.approx(np.sqrt(28.0), rel=1e-15)
        assert np.isnan(ball.tilt).all()
        assert ball.offset == pytest.approx(0.0)


@given(
    st.floats(0.0, np.pi / 2),
    st.floats(-np.pi, np.pi),
    st.floats(-np.pi, np.pi),
    st.sampled_from([0.0, 1e-9, 0.05, 0.4]),
)
def test_the_low_axis_leans_as_it_was_turned(
    lean: float, around: float, spin: float, flat: float
) -> None:
    """A long body, round or flattened across, its long axis from z by an angle that is known."""
    turn = Rotation.from_euler("ZYZ", [around, lean, spin]).as_matrix()
    J = moments(np.array([13.2, 13.2 + flat, 14.0]), np.array([0.02, 0.0, 0.1]), turn)
    found = float(ManyBalls(rows_of(J[None]), "cg").tilt[0])
    assert found == pytest.approx(lean, abs=2e-6)
    _, axes = known(J, "cg")
    assert found == pytest.approx(float(np.arccos(min(abs(axes[2, 0]), 1.0))), abs=2e-6)


def test_an_axis_is_told_only_where_its_radius_is_apart() -> None:
    """0.001 in, 0.00254 cm, between low and intermediate RG: beyond it, there is an axis."""
    turn = Rotation.from_euler("x", 0.4).as_matrix()
    tilts = []
    for gap in (0.0025, 0.0026):
        low, high = RG**2, (RG + gap) ** 2
        inertia = np.array([high, high + 0.01, low])
        second = inertia.sum() / 2.0 - inertia
        J = moments(second, np.zeros(3), turn)
        tilts.append(float(ManyBalls(rows_of(J[None]), "cg").tilt[0]))
    assert np.isnan(tilts[0])
    assert tilts[1] == pytest.approx(0.4, abs=1e-6)


def test_mass_and_offset_are_the_moments_own() -> None:
    cg = np.array([0.3, -0.4, 1.2])
    ball = ManyBalls(rows_of(moments(np.array([13.0, 13.5, 14.0]), cg, np.eye(3))[None]), "cg")
    assert ball.mass == pytest.approx(MASS)
    assert ball.offset == pytest.approx(1.3, rel=1e-14)
    assert ball.first == pytest.approx(1.3 * MASS, rel=1e-14)


def test_balls_that_lie_a_moment_at_a_time_are_the_same() -> None:
    """Memory may run either way."""
    Js = np.array([moments(np.array([13.0, 13.6, 14.0]), t[0] / 9, t) for t in _turns(50, 1)])
    rows = rows_of(Js)
    one, other = ManyBalls(np.asfortranarray(rows), "cg"), ManyBalls(rows.copy(), "cg")
    assert np.array_equal(one.radii, other.radii)
    assert np.array_equal(one.tilt, other.tilt)
