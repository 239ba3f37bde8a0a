"""Profiles of turned solids: surface, containment, hull, convexity and drawing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from oracles.drawings import (
    D_SHAPE,
    OUTLINES,
    QUARTER,
    SQUARE,
    Vertices,
    drawn,
    sampled,
)
from oracles.strategies import blocks

from geometry.outlines.faults import faults
from geometry.outlines.outline import Outline
from geometry.outlines.profile import Profile
from geometry.surfaces.surface import Surface, flux_moments


def outline(vertices: Vertices) -> Outline:
    """Return the outline of the vertices."""
    return Outline(drawn(vertices))


def test_a_stretched_half_circle_is_a_spheroid() -> None:
    """Volume 4πa²c/3; moved up by 5, upside down, it is the same spheroid elsewhere."""
    profile = Profile(outline(D_SHAPE)).placed(2.0, -3.0, 5.0)
    J = flux_moments(Surface.turned(profile))
    assert J.volume == pytest.approx(16 * np.pi, rel=1e-12)
    assert J.centroid[2] == pytest.approx(5.0, rel=1e-12)
    inside = np.array([[0.0, 7.9], [0.0, 2.1], [-1.9, 5.0], [1.4, 7.1]])
    assert np.all(profile.contains(inside))
    assert not np.any(
        profile.contains(inside * [1.1, 1.0] + [[0, 0.2], [0, -0.2], [0, 0], [0, 0.1]])
    )


@given(blocks(), st.floats(0.3, 3), st.floats(-3, 3), st.floats(-5, 5))
def test_the_axis_of_a_block_is_inside_and_no_surface(
    corners: list[list[float]], radial: float, axial: float, shift: float
) -> None:
    """The edge along r = 0 closes the drawing, no more: between its ends every point is inside."""
    assume(abs(axial) > 0.1)
    assert faults(drawn(corners), axis=True) == ()
    profile = Profile(outline(corners)).placed(radial, axial, shift)
    ends = np.array([corners[0][1], corners[-1][1]]) * axial + shift
    z = ends[0] + (ends[1] - ends[0]) * np.linspace(0.001, 0.999, 50)
    assert np.all(profile.contains(np.stack([np.zeros(50), z], axis=1)))
    pieces = profile.surface_edges()
    assert len(pieces) == len(corners) - 1
    for piece in pieces:
        points = piece.points(np.linspace(0, 1, 33))
        assert np.max(np.abs(points[:, 0])) > 0


@given(blocks(), st.floats(0.3, 3), st.floats(-3, 3))
def test_the_hull_of_a_profile_is_that_of_its_surface(
    corners: list[list[float]], radial: float, axial: float
) -> None:
    """Mirrored at the axis, as both halves of the section are the solid's."""
    assume(abs(axial) > 0.1)
    profile = Profile(outline(corners)).placed(radial, axial, 1.0)
    t = np.linspace(0, 1, 1001)
    half = np.concatenate([piece.points(t) for piece in profile.surface_edges()])
    both = np.concatenate([half, half * [-1, 1]])
    angle = np.linspace(-np.pi, np.pi, 37)
    d = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    reached = np.sum(profile.support_points(d) * d, axis=1)
    sample = np.max(both @ d.T, axis=0)
    assert np.all((sample <= reached + 1e-12) & (reached <= sample + 1e-4))


@pytest.mark.parametrize(
    ("vertices", "convex"),
    [
        (D_SHAPE, True),
        ([[0, -1], [1, -1], [1, 1], [0, 1]], True),
        ([[0, -1], [1, 0], [0, 1]], True),  # two cones, base to base
        ([[0, -1], [2, -1], [1, 0], [2, 1], [0, 1]], False),  # a waist
        ([[0, 0], [1, -0.5], [1, 1], [0, 1]], False),  # a dimple below
        ([[0, 0], [1, 0], [1, 1], [0, 0.5]], False),  # a dimple above
        ([[0, 0], [1, 0, -0.1], [1, 1], [0, 1]], False),  # a hollow side
        ([[0, 0, QUARTER], [1, 1, QUARTER], [0, 2]], True),  # a ball of two arcs
        ([[0, 0, 0.1], [1, 1, 0.1], [0, 2]], True),  # pointed, as a lemon
        ([[0, 0, 0.6], [1, 1, 0.6], [0, 2]], False),  # dented at the poles, as an apple
        (SQUARE, False),  # a bore
        ([[0, 0], [1, -1], [1, 1]], False),  # touches the axis in a point
    ],
)
def test_a_turned_solid_is_convex_when_its_mirrored_section_is(
    vertices: Vertices, *, convex: bool
) -> None:
    """Upside down or stretched it stays so."""
    profile = Profile(outline(vertices))
    assert profile.convex == convex
    assert profile.placed(2.0, -0.5, 3.0).convex == convex


def test_normals_are_those_of_the_straight_sides() -> None:
    """A cone's side from (2, 0) to (0, 4) faces (2, 1)/√5.

    Half as wide and upside down, from (1, 0) to (0, −4), it faces (4, −1)/√17.
    """
    profile = Profile(outline([[0, 0], [2, 0], [0, 4]]))
    np.testing.assert_allclose(profile.normals(), [[0, -1], np.array([2, 1]) / 5**0.5], atol=1e-15)
    turned = profile.placed(0.5, -1.0, 0.0).normals()
    np.testing.assert_allclose(turned, [[0, 1], np.array([4, -1]) / 17**0.5], atol=1e-15)


@pytest.mark.parametrize("vertices", OUTLINES)
def test_a_polyline_stays_within_its_sagitta(vertices: Vertices) -> None:
    """The middles of its chords lie no farther from a fine sample of the stretched outline."""
    shape = outline(vertices)
    corners = Profile(shape, (1.5, 3.0), 0.5).polyline(0.01)
    drawn_at = corners[:, 0] / 1.5 + 1j * (corners[:, 1] - 0.5) / 3.0
    on_edge = shape.edges.points(shape.edges.nearest(drawn_at[:, None]))
    assert np.abs(on_edge - drawn_at[:, None]).min(axis=1).max() < 1e-12
    fine = sampled(shape.vertices, 500)
    fine = 1.5 * fine.real + 1j * (3.0 * fine.imag + 0.5)
    p = corners[:, 0] + 1j * corners[:, 1]
    middles = (p + np.roll(p, -1)) / 2
    assert np.abs(middles[:, None] - fine).min(axis=1).max() < np.hypot(0.01, 0.005)
    assert len(p) < 100
