"""Weight, CG, RGs, axes and top weight of a ball, against published solids and worked figures."""

from __future__ import annotations

import numpy as np
import pytest
from oracles.balls import weight_and_radii
from oracles.lineups import manufactured
from scipy.spatial.transform import Rotation

from geometry.mass_properties import MassProperties, principal, radii_of
from geometry.moments import Moments
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.sphere import Sphere
from shared.reference import table
from shared.tolerances import AXIS_GAP
from shared.units import INCH, OUNCE, POUND

RADIUS = 4.2775 * INCH


def _moved(moments, at=(0.0, 0.0, 0.0), rotate=(0.0, 0.0, 0.0)):
    T = np.eye(4)
    T[:3, :3] = Rotation.from_euler("xyz", rotate, degrees=True).as_matrix()
    T[:3, 3] = at
    return moments.moved(T)


def _uniform(pounds, offset=(0.0, 0.0, 0.0)):
    """A uniform ball of a weight, its CG shifted by hand: J[:3, 3] = m c (second order in c)."""
    ball = Sphere(diameter=2 * RADIUS).moments()
    J = (ball * (pounds * POUND / ball.volume)).J.copy()
    J[:3, 3] = J[3, :3] = pounds * POUND * np.array(offset)
    return MassProperties(Moments(J))


@pytest.mark.parametrize("row", table("solids")["radii_of_gyration"], ids=lambda row: row["name"])
def test_balls_and_shells_have_their_published_radius_of_gyration(row):
    """A shell is a ball less a ball; figures and sources in shared/reference/solids.toml."""
    moments = Sphere(diameter=row["diameter"] * INCH).moments()
    if row["bore"]:
        moments = moments - Sphere(diameter=row["bore"] * INCH).moments()
    radii = MassProperties(moments * 1.3).about_cg.radii
    assert np.allclose(radii, row["rg"] * INCH, atol=5e-6 * INCH)


def test_the_published_inertias_of_turned_solids_are_the_radii():
    """RG = √(I/m) of a cylinder, m r²/2 and m (3r² + h²)/12, at any density, placed anywhere.

    Meriam & Kraige, Dynamics, tables; from memory.
    """
    r, h = 1.5, 4.0
    moments = _moved(Cylinder(diameter=2 * r, height=h).moments(), (0.5, -1.0, 2.0), (30, 40, 50))
    radii = MassProperties(moments * 2.7).about_cg.radii
    across = ((3 * r * r + h * h) / 12) ** 0.5
    assert np.allclose(radii, [r / 2**0.5, across, across])


@pytest.mark.parametrize("kind", ["aligned", "tilted 15", "triaxial", "off axis"])
@pytest.mark.parametrize("about", ["cg", "centre"])
def test_nested_balls_are_what_the_oracle_says(kind, about):
    """Regions subtracted here, solids superposed there."""
    line, densities = manufactured(np.random.default_rng(4), kind, about)
    total = Moments.zero()
    for solid, density in zip(line.solids, densities, strict=True):
        own = Ellipsoid(diameters=tuple(2 * a for a in solid.axes)).moments()
        host = 0.0 if solid.host is None else densities[solid.host]
        total = total + _moved(own, solid.at, solid.rotate) * (density - host)
    found = MassProperties(total)
    mass, radii, cg = weight_and_radii(line.solids, densities, about)
    assert found.mass == pytest.approx(mass)
    assert np.allclose(found.cg, cg, atol=1e-10)
    assert np.allclose(found.about(about).radii, radii, atol=1e-9)
    assert np.allclose(radii_of(np.array([total.J, 2.0 * total.J]), about), radii, atol=1e-9)


def _body():
    """Nothing special: three RGs, tilted, off centre."""
    one = _moved(Ellipsoid(diameters=(20.0, 18.0, 15.0)).moments(), (0.1, -0.2, 0.3), (10, 20, 30))
    other = _moved(Ellipsoid(diameters=(3.0, 4.0, 9.0)).moments(), (2.0, 1.0, -1.0), (50, 0, 70))
    return one * 1.2 + other * 1.5


@pytest.mark.parametrize("about", ["cg", "centre"])
def test_a_slope_gives_the_inertia_and_its_derivative(about):
    """⟨slope, J⟩ = m RG², and central differences of m RG² in each entry of J are the slope.

    J is symmetric, so that an entry off the diagonal moves together with its mirror image.
    """
    J = _body().J

    def inertias(of):
        properties = MassProperties(Moments(of))
        return properties.about(about).radii ** 2 * properties.mass

    found = MassProperties(Moments(J)).about(about)
    for k in range(3):
        assert np.sum(found.slopes[k] * J) == pytest.approx(inertias(J)[k], rel=1e-12)
    for i in range(4):
        for j in range(i + 1):
            step = np.zeros((4, 4))
            step[i, j] = step[j, i] = 1e-4 * np.sqrt(J[i, i] * J[j, j])
            slope = (inertias(J + step) - inertias(J - step)) / 2
            told = np.array([np.sum(found.slopes[k] * step) for k in range(3)])
            scale = float(np.max(np.abs(told))) + 1e-4 * J[3, 3]
            assert np.allclose(slope, told, atol=1e-5 * scale)


def test_axes_are_the_bodys_own_with_a_settled_sign():
    """An ellipsoid rotated: the low-RG axis is its longest; signs toward +z, and unit length."""
    rotate = (25.0, -40.0, 70.0)
    body = _moved(Ellipsoid(diameters=(4.0, 6.0, 9.0)).moments(), (0, 0, 0), rotate)
    turned = Rotation.from_euler("xyz", rotate, degrees=True).as_matrix()
    found = MassProperties(body).about_cg
    for k, own in enumerate((2, 1, 0)):
        axis = found.axis(k)
        assert abs(axis @ turned[:, own]) == pytest.approx(1.0)
        assert axis[2] > 0
    assert not found.axes.flags.writeable


def test_a_level_axis_points_along_plus_x_or_plus_y():
    """Nothing of it is along z: its largest component is positive."""
    for rotate in ((0, 0, 0), (0, 0, 180), (180, 0, 0), (0, 0, 90)):
        body = _moved(Ellipsoid(diameters=(9.0, 6.0, 4.0)).moments(), rotate=rotate)
        low = MassProperties(body).about_cg.axis(0)
        assert np.max(low) == pytest.approx(1.0)


def test_an_axis_means_nothing_where_two_radii_are_the_same():
    """A turned body: any level axis is as good as the other; a ball has none at all."""
    turned = MassProperties(Ellipsoid(diameters=(5.0, 5.0, 9.0)).moments()).about_cg
    assert turned.axis(0) is not None
    assert turned.axis(1) is None
    assert turned.axis(2) is None
    ball = MassProperties(Sphere(diameter=20.0).moments()).about_cg
    assert [ball.axis(k) for k in range(3)] == [None, None, None]
    assert ball.pin_tilt is None


@pytest.mark.parametrize(("share", "meant"), [(0.9, False), (1.1, True)])
def test_an_axis_means_something_from_a_gap_of_a_thousandth_of_an_inch(share, meant):
    """Moments made so that the low RG stands apart from the next by a share of AXIS_GAP."""
    low, other = 6.5, 6.5 + share * AXIS_GAP
    half = np.array([other**2, other**2, low**2])  # RG² about x, y, z
    second = half.sum() / 2 - half
    found = MassProperties(Moments(np.diag([*second, 1.0]))).about_cg
    assert (found.axis(0) is not None) == meant


def test_pin_tilt_is_the_angle_from_the_pin():
    """A long body tipped about x by 12 degrees; tipped past level it is measured back."""
    for angle, tilt in ((12.0, 12.0), (-12.0, 12.0), (100.0, 80.0), (180.0, 0.0)):
        body = _moved(Ellipsoid(diameters=(5.0, 5.0, 9.0)).moments(), rotate=(angle, 0.0, 0.0))
        found = MassProperties(body).about_cg.pin_tilt
        assert np.degrees(found) == pytest.approx(tilt, abs=1e-5)


def test_differentials_are_high_less_low_and_high_less_intermediate():
    radii = principal(Moments.symmetric(1.0, 30.0, 20.0, 10.0).J, np.zeros(3))
    assert np.allclose(radii.radii**2, [30.0, 40.0, 50.0])
    assert radii.differential == pytest.approx(50**0.5 - 30**0.5)
    assert radii.intermediate_differential == pytest.approx(50**0.5 - 40**0.5)


@pytest.mark.parametrize(
    ("pounds", "ounces", "offset"),
    [(15, 1, 0.0178), (12, 3, 0.0668), (13, 3, 0.0617), (14, 3, 0.0573), (15, 3, 0.0535),
     (16, 3, 0.0501)],
)  # fmt: skip
def test_top_weight_is_the_offset_of_the_cg_times_weight_over_the_arm(pounds, ounces, offset):
    """Worked figures: |c| = t·a/W with a = 4.2775 in, to the printed digits (derived)."""
    exact = ounces / 16 / pounds * RADIUS
    assert exact / INCH == pytest.approx(offset, abs=5.01e-5)
    ball = _uniform(pounds, (0.0, 0.0, exact))
    assert ball.top_weight(RADIUS) == pytest.approx(ounces * OUNCE)
    assert ball.top_weight_along_pin(RADIUS) == pytest.approx(ounces * OUNCE)
    assert _uniform(pounds, (0, 0, -exact)).top_weight_along_pin(RADIUS) < 0
    side = _uniform(pounds, (0.6 * exact, 0.0, 0.8 * exact))
    assert side.top_weight(RADIUS) == pytest.approx(ounces * OUNCE)
    assert side.top_weight_along_pin(RADIUS) == pytest.approx(0.8 * ounces * OUNCE)


@pytest.mark.parametrize(("pounds", "drop"), [(12, 0.00086), (16, 0.00048)])
def test_an_offset_along_the_pin_lowers_the_high_rg_and_leaves_the_pin_axis(pounds, drop):
    """By c²/(2 RG) at 3 oz: 0.00086 in at 12 lb, 0.00048 in at 16 lb (derived).

    High RG 2.60 in, low 2.55 in: figures to two digits, which that choice of RG doesn't move.
    """
    mass, c = pounds * POUND, 3 / 16 / pounds * RADIUS
    across, along = (2.60 * INCH) ** 2, (2.55 * INCH) ** 2
    J = mass * np.diag([along / 2, along / 2, across - along / 2, 1.0])
    J[2, 3] = J[3, 2] = mass * c
    ball = MassProperties(Moments(J))
    centre, cg = ball.about_centre, ball.about_cg
    assert centre.low / INCH == pytest.approx(2.55)
    assert cg.low == pytest.approx(centre.low, abs=1e-12)
    assert (centre.high - cg.high) / INCH == pytest.approx(drop, abs=1.1e-5)
    assert (centre.differential - cg.differential) / INCH == pytest.approx(drop, abs=1.1e-5)


@pytest.mark.parametrize(("diameter", "pounds"), [(8.500, 11.60), (8.595, 11.99)])
def test_a_ball_floats_below_the_weight_of_the_water_it_displaces(diameter, pounds):
    """Water of 0.9982 g/cm³ (20 °C): thresholds 11.60 and 11.99 lb (derived)."""
    ball = MassProperties(Sphere(diameter=diameter * INCH).moments() * 0.9982)
    assert ball.mass / POUND == pytest.approx(pounds, abs=0.005)


def test_pin_distance_runs_from_the_pin_to_the_mark():
    """A quarter of the way round for a CG square to the pin; πR for one opposite to it."""
    c = 0.1
    assert _uniform(15, (0, 0, c)).pin_distance(RADIUS) == 0.0
    assert _uniform(15, (c, 0, 0)).pin_distance(RADIUS) == pytest.approx(np.pi / 2 * RADIUS)
    assert _uniform(15, (0, 0, -c)).pin_distance(RADIUS) == pytest.approx(np.pi * RADIUS)
    assert _uniform(15, (0, c, c)).pin_distance(RADIUS) == pytest.approx(np.pi / 4 * RADIUS)
    assert _uniform(15).pin_distance(RADIUS) == 0.0


def test_the_patents_moment_of_inertia_is_a_radius_of_gyration():
    """0.318 oz·in·s² for each pound of ball, RE34,614: RG = √(0.318 · 386.0886 / 16) in."""
    patent = table("solids")["patent"]
    rg = (patent["value"] * 386.0886 / 16) ** 0.5
    assert rg == pytest.approx(patent["rg"], abs=5e-5)
