"""Many balls at once, where all their axes are alike."""

from __future__ import annotations

import numpy as np

from geometry.many_balls import ManyBalls, rows_of


def test_a_perfect_sphere_has_one_rg() -> None:
    """RG² = ⅖ R²: second moments m R² ÷ 5 along each axis, products and first moments 0."""
    radius, mass = 10.0, 7000.0
    J = np.diag([mass * radius**2 / 5.0] * 3 + [mass])
    balls = ManyBalls(rows_of(J)[None], "cg")
    np.testing.assert_allclose(balls.radii, np.full((3, 1), np.sqrt(0.4) * radius), rtol=1e-12)
    assert np.isnan(balls.tilt).all()
