"""Outlines of lines and arcs: edges, integrals, containment and extremes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from oracles.drawings import (
    CRESCENT,
    D_SHAPE,
    OUTLINES,
    SQUARE,
    Vertices,
    drawn,
    sampled,
)

from geometry.outlines.edges import Edges
from geometry.outlines.faults import faults
from geometry.outlines.outline import Outline


def outline(vertices: Vertices) -> Outline:
    """Return the outline of the vertices."""
    return Outline(drawn(vertices))


def areas(points: np.ndarray) -> np.ndarray:
    """Return ∫ [x y 1]ᵀ [x y 1] dA of a polygon of complex points, by its triangles from (0, 0).

    A triangle's ∫ p pᵀ is area/12 · (Σ vᵢ vᵢᵀ + s sᵀ), s = Σ vᵢ; one vertex is the origin.
    """
    p = np.stack([points.real, points.imag], axis=1)
    q = np.roll(p, -1, axis=0)
    area = (p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]) / 2
    s = p + q
    second = sum(np.einsum("n,ni,nj->ij", area / 12, v, v) for v in (p, q, s))
    J = np.empty((3, 3))
    J[:2, :2], J[2, 2] = second, area.sum()
    J[:2, 2] = J[2, :2] = (area[:, None] * s / 3).sum(axis=0)
    return J


# Edges


@given(st.floats(-8, 8), st.floats(0, 1))
def test_an_arc_keeps_its_distance_from_its_centre(bulge: float, t: float) -> None:
    """From (0, 0) to (2, 0) the centre is (1, cot ½θ), the radius 1/|sin ½θ|."""
    assume(abs(bulge) > 1e-3)
    theta = 4 * np.arctan(bulge)
    edge = Edges.closed(drawn([[0, 0, bulge], [2, 0]]))[[0]]
    centre = 1 + 1j / np.tan(theta / 2)
    radius = 1 / abs(np.sin(theta / 2))
    assert abs(abs(edge.points(np.array([t]))[0] - centre) - radius) < 1e-12 * radius
    assert edge.length[0] == pytest.approx(radius * abs(theta), rel=1e-12)
    assert abs(edge.tangents(np.array([t]))[0]) == pytest.approx(edge.length[0], rel=1e-12)


@pytest.mark.parametrize("bulge", [1e-6, 1e-9, 1e-15, 1e-90])
def test_an_arc_that_is_almost_straight_is_not_lost(bulge: float) -> None:
    """Its sagitta is bulge·chord/2, to the right; a form with a centre would lose it in R."""
    middle = Edges.closed(drawn([[0, 0, bulge], [2, 0]]))[[0]].points(np.array([0.5]))[0]
    assert middle.real == pytest.approx(1.0, rel=1e-12)
    assert middle.imag == pytest.approx(-bulge, rel=1e-9, abs=0)


@given(st.floats(-4, 4), st.floats(-3, 3), st.floats(-3, 3))
def test_the_nearest_point_of_an_edge_is_nearest(bulge: float, x: float, y: float) -> None:
    """No point of a dense sample is closer, and the nearest of the sample is hardly farther."""
    edge = Edges.closed(drawn([[-1, 0, bulge], [1, 0]]))[[0]]
    p = np.array([complex(x, y)])
    least = abs(edge.points(edge.nearest(p))[0] - p[0])
    sample = np.abs(edge.points(np.linspace(0, 1, 4001)) - p[0]).min()
    assert sample - edge.length[0] / 8000 - 1e-12 <= least <= sample + 1e-12


# Integrals


def test_a_circle_from_two_arcs() -> None:
    """Radius 2 about (5, −3): πr², its first moments, ¼πr⁴ plus area × distance²."""
    J = outline([[3, -3, 1], [7, -3, 1]]).area_moments()
    area = 4 * np.pi
    expected = area * np.array([[26, -15, 5], [-15, 10, -3], [5, -3, 1]])
    np.testing.assert_allclose(J, expected, rtol=1e-14)


def test_a_rectangle() -> None:
    """From (1, 0) to (3, 2): ∫x² = 2(27 − 1)/3, ∫xy = 4·2, ∫y² = 2·8/3."""
    J = outline(SQUARE).area_moments()
    expected = [[52 / 3, 8, 8], [8, 16 / 3, 4], [8, 4, 4]]
    np.testing.assert_allclose(J, expected, rtol=1e-14)


@pytest.mark.parametrize("vertices", OUTLINES)
def test_integrals_agree_with_a_fine_polygon(vertices: Vertices) -> None:
    """2000 chords an arc miss the area by some (θ/2000)²/6, less than 3e-6 of it."""
    shape = outline(vertices)
    expected = areas(sampled(shape.vertices))
    np.testing.assert_allclose(shape.area_moments(), expected, rtol=1e-5, atol=1e-5)


@pytest.mark.parametrize("vertices", OUTLINES)
def test_a_clockwise_outline_is_the_same_outline(vertices: Vertices) -> None:
    """Backward, an edge's bulge changes sign and belongs to the vertex at its other end."""
    forward = drawn(vertices)
    backward = forward[::-1].copy()
    backward[:, 2] = -np.roll(backward[:, 2], -1)
    np.testing.assert_allclose(
        Outline(backward).area_moments(), Outline(forward).area_moments(), rtol=1e-13, atol=1e-15
    )
    assert not faults(backward, axis=True)


@pytest.mark.parametrize("vertices", OUTLINES)
def test_closing_an_outline_by_hand_changes_nothing(vertices: Vertices) -> None:
    """The first vertex again at the end is what many drawings have."""
    closed = np.vstack([drawn(vertices), [*vertices[0][:2], 0.0]])
    np.testing.assert_array_equal(Outline(closed).vertices, outline(vertices).vertices)
    assert not faults(closed, axis=True)


def test_two_points_are_needed() -> None:
    with pytest.raises(ValueError, match="at least two"):
        outline([[1, 1], [1, 1]])


def test_turning_follows_pappus() -> None:
    """Guldin-Pappus: volume = area × the way of its centroid; here a crescent beside the axis."""
    shape = outline(CRESCENT)
    J, turned = shape.area_moments(), shape.turned()
    assert turned.volume == pytest.approx(2 * np.pi * J[0, 2], rel=1e-14)
    assert turned.centroid[2] == pytest.approx(J[0, 1] / J[0, 2], abs=1e-14)


@given(st.floats(0.5, 200), st.floats(-50, 50))
def test_a_small_section_far_out_keeps_its_digits(r: float, z: float) -> None:
    """A square of side 0.01 at (r, z) turns to 2πr·s², plus Steiner: its own s²/12 counts too."""
    s = 0.01
    h = s / 2
    J = outline([[r - h, z - h], [r + h, z - h], [r + h, z + h], [r - h, z + h]]).turned().J
    V = 2 * np.pi * r * s**2
    rounding = 8e-16 * (r + abs(z)) / s  # the corners themselves are rounded
    np.testing.assert_allclose(J[3, 3], V, rtol=1e-13 + 4 * rounding)
    np.testing.assert_allclose(J[0, 0], V * (r**2 + s**2 / 4) / 2, rtol=1e-13 + 8 * rounding)
    np.testing.assert_allclose(J[2, 2], V * (z**2 + s**2 / 12), rtol=1e-13 + 8 * rounding)


# Containment and extremes


@pytest.mark.parametrize("vertices", OUTLINES)
def test_containment_agrees_with_the_winding_number(vertices: Vertices) -> None:
    """A fine polygon winds once round the points inside; points within 0.002 of it are left out."""
    shape = outline(vertices)
    p = sampled(shape.vertices)
    xy = np.random.default_rng(5).uniform(-1, 4, (600, 2))
    z = (xy[:, 0] + 1j * xy[:, 1])[:, None]
    winding = np.angle((np.roll(p, -1) - z) / (p - z)).sum(axis=1) / (2 * np.pi)
    clear = np.abs(p - z).min(axis=1) > 0.002
    np.testing.assert_array_equal(shape.contains(xy)[clear], np.round(winding)[clear] == 1)


def test_arcs_bound_exactly() -> None:
    """Round a unit half disc, 10⁻¹³ inside or outside the arc is told apart."""
    angle = np.linspace(-1.5, 1.5, 41)
    rim = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    shape = outline(D_SHAPE)
    assert np.all(shape.contains(rim * (1 - 1e-13)))
    assert not np.any(shape.contains(rim * (1 + 1e-13)))


@given(st.integers(3, 9), st.floats(0, 0.7), st.integers(0, 10**6))
def test_points_on_inner_chords_are_inside(count: int, bulge: float, seed: int) -> None:
    """A polygon with arcs that bulge outward holds its own chords, heights of vertices included."""
    angle = np.arange(count) * 2 * np.pi / count + seed
    corners = np.stack([np.cos(angle), np.sin(angle), np.full(count, bulge + 0.05)], axis=1)
    t = np.array([0.1, 0.25, 0.5, 0.9])[:, None, None]
    chords = (corners[:, :2] * (1 - t) + np.roll(corners[:, :2], -1, axis=0) * t).reshape(-1, 2)
    level = np.stack([np.zeros(count), corners[:, 1]], axis=1)
    level = level[np.abs(level[:, 1]) < 0.99 * np.cos(np.pi / count)]  # within the inner circle
    assert np.all(Outline(corners).contains(np.concatenate([chords, level])))


@pytest.mark.parametrize("vertices", OUTLINES)
def test_extremes_are_those_of_a_fine_sample(vertices: Vertices) -> None:
    """A fine sample never reaches farther, and less far only by the sagitta of its chords."""
    shape = outline(vertices)
    angle = np.linspace(0, 2 * np.pi, 73)
    d = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    reached = np.sum(shape.support_points(d) * d, axis=1)
    p = sampled(shape.vertices)
    expected = np.max(np.outer(np.cos(angle), p.real) + np.outer(np.sin(angle), p.imag), axis=1)
    assert np.all(reached >= expected - 1e-12)
    assert np.all(reached <= expected + 1e-5)
