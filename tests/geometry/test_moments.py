"""The laws of the algebra of moments."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracles import meshes
from oracles.quadrature import apart
from oracles.strategies import positions, rotations, stretches

from geometry.moments import Moments
from geometry.placement import Placement
from geometry.shapes.box import Box
from geometry.shapes.sphere import Sphere
from shared.reference import table
from shared.units import INCH, OUNCE, POUND

seeds = st.integers(0, 2**32 - 1)


def cloud(seed: int) -> Moments:
    """Return moments of nine random point masses: what holds for bodies holds for them."""
    rows = np.column_stack([np.random.default_rng(seed).normal(size=(9, 3)), np.ones(9)])
    return Moments(rows.T @ rows)


def affine(seed: int) -> np.ndarray:
    """Draw a random affine map, rotations, stretches and mirrors among them."""
    T = np.eye(4)
    T[:3] = np.random.default_rng(seed).normal(size=(3, 4))
    return T


@given(st.floats(1, 20), st.floats(0.1, 0.99))
def test_shell_plus_core_is_the_ball(diameter: float, part: float) -> None:
    """A part taken out and put back in leaves the whole: J is additive over disjoint bodies."""
    ball = Sphere(diameter=diameter).moments()
    core = Sphere(diameter=diameter * part).moments()
    shell = ball - core
    assert np.linalg.eigvalsh(shell.J)[0] > 0
    assert shell.volume == pytest.approx(np.pi / 6 * diameter**3 * (1 - part**3), rel=1e-12)
    np.testing.assert_allclose((shell + core).J, ball.J, rtol=1e-12, atol=0)


@given(seeds, seeds, seeds)
def test_moving_twice_is_moving_by_the_product(body: int, first: int, second: int) -> None:
    """|det A₂A₁| T₂T₁ J T₁ᵀT₂ᵀ either way."""
    J, one, two = cloud(body), affine(first), affine(second)
    twice = J.moved(one).moved(two).J
    scale = np.abs(twice).max()
    np.testing.assert_allclose(J.moved(two @ one).J, twice, atol=1e-12 * scale)


@given(seeds, seeds, seeds, st.floats(0.1, 9))
def test_moving_is_linear(one: int, other: int, map_: int, density: float) -> None:
    """A density multiplies in once, before or after, and a sum moves part by part."""
    a, b, T = cloud(one), cloud(other), affine(map_)
    moved = (density * (a + b)).moved(T).J
    apart_first = (a.moved(T) + b.moved(T)) * density
    np.testing.assert_allclose(apart_first.J, moved, atol=1e-12 * np.abs(moved).max())


@given(seeds)
def test_a_mirrored_body_keeps_its_volume_and_changes_sides(seed: int) -> None:
    """Across the plane x = 0 only what is odd in x changes sign."""
    J = cloud(seed)
    mirrored = J.moved(np.diag([-1.0, 1.0, 1.0, 1.0])).J
    signs = np.outer([-1, 1, 1, 1], [-1, 1, 1, 1])
    np.testing.assert_array_equal(mirrored, J.J * signs)


@given(seeds, positions)
def test_inertia_about_a_point_follows_the_parallel_axes_theorem(
    seed: int, point: tuple[float, float, float]
) -> None:
    """Huygens-Steiner: I(p) = I(centroid) + m(|d|² E − d dᵀ), d from the centroid to p."""
    J = cloud(seed)
    d = np.array(point) - J.centroid
    steiner = J.about(J.centroid).inertia + J.volume * (d @ d * np.eye(3) - np.outer(d, d))
    np.testing.assert_allclose(
        J.about(np.array(point)).inertia, steiner, atol=1e-11 * steiner.max()
    )
    np.testing.assert_allclose(J.about(J.centroid).J[:3, 3], 0, atol=1e-12)


@given(stretches, rotations, positions)
def test_principal_values_survive_a_rotation(
    size: tuple[float, float, float],
    rotate: tuple[float, float, float],
    at: tuple[float, float, float],
) -> None:
    """About its own centroid a box has V(b² + c²)/12 on each axis, however it lies."""
    lying = Box(size=size).moments().moved(Placement(at=at, rotate=rotate).matrix)
    squares = np.array(size) ** 2
    expected = np.sort(np.prod(size) * (squares.sum() - squares) / 12)
    found = np.linalg.eigvalsh(lying.about(lying.centroid).inertia)
    np.testing.assert_allclose(found, expected, rtol=1e-9)


def test_moments_cannot_be_written_to() -> None:
    given_array = np.diag([1.0, 1.0, 1.0, 4.0])
    J = Moments(given_array)
    given_array[0, 0] = 7.0
    assert J.J[0, 0] == 1.0
    with pytest.raises(ValueError, match="read-only"):
        J.J[0, 0] = 7.0


def test_nothing_has_no_centroid_and_adds_nothing() -> None:
    ball = Sphere(diameter=2.0).moments()
    np.testing.assert_array_equal((ball + Moments.zero()).J, ball.J)
    with pytest.raises(ZeroDivisionError):
        _ = Moments.zero().centroid


@pytest.mark.parametrize("row", table("solids")["tetrahedra"], ids=lambda row: row["name"])
def test_published_tetrahedra_agree_with_the_mesh_oracle(row: dict[str, object]) -> None:
    """The oracle that checks the shapes is itself checked by published figures (solids.toml).

    Moments of the mesh about the point that the source names.
    """
    J = Moments(meshes.moments(meshes.tetrahedron(np.array(row["vertices"]))))
    if "volume" in row:
        assert J.volume == pytest.approx(row["volume"], rel=1e-12)
    if "centroid" in row:
        np.testing.assert_allclose(J.centroid, row["centroid"], rtol=1e-12)
    about = J.about(J.centroid) if row["about"] == "centroid" else J
    tolerance = float(str(row["tolerance"]))
    S = about.J
    np.testing.assert_allclose([S[1, 2], S[0, 2], S[0, 1]], row["products"], rtol=tolerance)
    if "inertia" in row:
        np.testing.assert_allclose(np.diag(about.inertia), row["inertia"], rtol=tolerance)
    if "second" in row:
        np.testing.assert_allclose(np.diag(S)[:3], row["second"], rtol=tolerance)


@given(seeds)
@settings(max_examples=25)
def test_any_tetrahedron_is_the_unit_one_after_an_affine_map(seed: int) -> None:
    """J → |det A| T J Tᵀ from the published covariance of the unit tetrahedron (Blow & Binstock).

    The mesh oracle integrates the mapped vertices themselves.
    """
    unit = Moments.of(1 / 6, np.full(3, 1 / 24), (np.eye(3) + np.ones((3, 3))) / 120)
    T = affine(seed)
    corners = np.vstack([np.zeros(3), np.eye(3)]) @ T[:3, :3].T + T[:3, 3]
    flat = abs(np.linalg.det(T[:3, :3])) < 1e-3
    if not flat:
        assert apart(unit.moved(T).J, meshes.moments(meshes.tetrahedron(corners))) < 1e-9


def test_published_cube() -> None:
    """∫ x² dV = s⁵/12 (solids.toml, Mirtich's cube)."""
    cube = table("solids")["cube"]
    J = Box(size=(cube["side"],) * 3).moments()
    assert J.J[0, 0] == pytest.approx(cube["second"], rel=1e-9)


@pytest.mark.parametrize("row", table("solids")["radii_of_gyration"], ids=lambda row: row["name"])
def test_published_radii_of_gyration(row: dict[str, float]) -> None:
    """RG = √(I/m), in inches; six published decimals. The thin shell is 2·10⁻⁷ in thick."""
    body = Sphere(diameter=row["diameter"] * INCH).moments()
    if row["bore"]:
        body = body - Sphere(diameter=row["bore"] * INCH).moments()
    rg = np.sqrt(body.inertia[2, 2] / body.volume) / INCH
    assert rg == pytest.approx(row["rg"], abs=6e-7)


def test_a_patents_inertia_in_our_units() -> None:
    """0.318 oz·in·s² for each pound of ball is RG = 2.7701 in (solids.toml).

    The ounce there is a force: an ounce's mass times 980.665 cm/s² (NIST SP 811).
    """
    patent = table("solids")["patent"]
    inertia = patent["value"] * OUNCE * 980.665 * INCH  # g cm²
    assert np.sqrt(inertia / POUND) / INCH == pytest.approx(patent["rg"], abs=5e-5)
