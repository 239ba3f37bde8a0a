"""Outlines of lines and arcs: integrals, containment, extremes, faults and profiles."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from oracles.strategies import blocks

from geometry.edges import Edges
from geometry.faults import faults
from geometry.outline import Outline, Profile
from shared.arrays import Array

Vertices = Sequence[Sequence[float]]

QUARTER = np.tan(np.pi / 8)
"""The bulge of a quarter circle."""

SQUARE = [[1, 0], [3, 0], [3, 2], [1, 2]]
LENS = [[1, 0, 0.5], [1, 2, 0.5]]
D_SHAPE = [[0, -1, 1], [0, 1]]
KEYHOLE = [[2, 0], [3, 0], [3, 1, 2.0], [2, 1]]
CRESCENT = [[1, -1, 1], [1, 1, -0.5]]
OUTLINES = [SQUARE, LENS, D_SHAPE, KEYHOLE, CRESCENT]


def drawn(vertices: Vertices) -> Array:
    """Return vertices (n, 3), a missing bulge as 0."""
    return np.array([[*v, 0.0][:3] for v in vertices], dtype=float)


def outline(vertices: Vertices) -> Outline:
    """Return the outline of the vertices."""
    return Outline(drawn(vertices))


def sampled(shape: Outline, n: int = 2000) -> np.ndarray:
    """Return n points on each edge, complex, by the textbook form: centre, radius, angle.

    The centre lies at the chord's middle plus ½i·chord·cot(½θ), for θ = 4 atan(bulge).
    """
    t = np.arange(n) / n
    rows = []
    for i, (x, y, bulge) in enumerate(shape.vertices):
        start = complex(x, y)
        after = shape.vertices[(i + 1) % len(shape.vertices)]
        end = complex(after[0], after[1])
        if bulge == 0:
            rows.append(start + (end - start) * t)
            continue
        theta = 4 * np.arctan(bulge)
        centre = (start + end) / 2 + 0.5j * (end - start) / np.tan(theta / 2)
        rows.append(centre + (start - centre) * np.exp(1j * theta * t))
    return np.concatenate(rows)


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
    expected = areas(sampled(shape))
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
    p = sampled(shape)
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
    p = sampled(shape)
    expected = np.max(np.outer(np.cos(angle), p.real) + np.outer(np.sin(angle), p.imag), axis=1)
    assert np.all(reached >= expected - 1e-12)
    assert np.all(reached <= expected + 1e-5)


# Faults


def arch(up: float, down: float) -> Vertices:
    """Return a 4 × 3 block with an arc standing `up` on its floor, one hanging `down` from the top.

    Both have chords of length 2, so that a bulge is a height.
    """
    return [[0, 0], [1, 0, -up], [3, 0], [4, 0], [4, 3], [3, 3, -down], [1, 3], [0, 3]]


@pytest.mark.parametrize(
    ("vertices", "kind", "at", "point"),
    [
        ([], "few", (), (0, 0)),
        ([[1, 1], [2, 2]], "few", (), (1, 1)),
        ([[1, 0], [2, 0], [2, 0], [1, 1]], "repeated", (1, 2), (2, 0)),
        ([[1, 0], [3, 0], [1, 2], [3, 2]], "crossing", (1, 3), (2, 1)),
        ([[1, 0], [5, 0], [5, 2], [3, 0], [1, 2]], "crossing", (0, 2), (3, 0)),
        ([[0, 0], [4, 0], [4, 2], [3, 2], [3, 0], [1, 0], [1, 2]], "crossing", (0, 3), (3, 0)),
        # two long edges that only cross at their very ends, in (4.9976…, 1)
        ([[1, 1], [5, 1], [6, 3], [4.9, 1.01], [9, 0.59]], "crossing", (0, 3), None),
        (arch(0, 3), "crossing", (1, 5), (2, 0)),
        (arch(0, 3 - 4e-9), "crossing", (1, 5), (2, 4e-9)),  # within 10⁻⁹ of the drawing's size, 5
        (arch(1, 2), "crossing", (1, 5), (2, 1)),
        (arch(1.5, 2), "crossing", (1, 5), None),
        (arch(0, 3.5), "crossing", (0, 5), None),
        ([[1, 0], [3, 0], [2, 0], [2, 1]], "folded", (0, 1), None),
        ([[1, 0], [2, 0], [3, 0]], "folded", (2, 0), None),
        ([[1, 0, 0.5], [2, 0, -0.5]], "folded", (0, 1), None),
        ([[1, 0, 1], [3, 0, -QUARTER], [2, -1], [2, 3]], "folded", (0, 1), None),
        ([[1, 0], [-1, 0], [0, 1]], "axis", (1,), (-1, 0)),
        ([[0, 0, -0.25], [0, 2], [3, 2], [3, 0]], "axis", (0,), (-0.25, 1)),
        ([[0.5, 0], [3, 0], [3, 2], [0.5, 2, 1]], "axis", (3,), (-0.5, 1)),
    ],
)
def test_faults_are_found_with_their_place(
    vertices: Vertices, kind: str, at: tuple[int, ...], point: tuple[float, float] | None
) -> None:
    """Drawn so that the place is plain.

    Lines that cross, a vertex on an edge, an edge along another, arcs that touch and cross lines
    and arcs, ways there and back, a negative r.
    """
    found = faults(drawn(vertices).reshape(-1, 3), axis=True)
    assert len({(fault.kind, frozenset(fault.vertices)) for fault in found}) == len(found)
    first = found[0]
    assert (first.kind, first.vertices) == (kind, at)
    if point is not None:
        np.testing.assert_allclose(first.point, point, atol=1e-9)


@pytest.mark.parametrize(
    "vertices",
    [
        *OUTLINES,
        arch(0.99, 2),  # a gap of 0.01 between two arcs
        arch(0, 3 - 6e-9),
        [[0, 0], [2, 0], [2, 2], [0, 2]],  # along the axis
        [[0, 0], [2, 1], [2, -1]],  # touches the axis in a point
        [[1, 0, 1], [1, 2]],  # an arc that leaves r = 0 alone
        [[0, -1, 1], [0, 1, 0]],  # pole to pole
        [[1, 0, QUARTER], [2, 1], [1, 2], [1, 1]],  # an arc that goes on smoothly as a line
    ],
)
def test_sound_outlines_have_no_faults(vertices: Vertices) -> None:
    assert faults(drawn(vertices), axis=True) == ()


@given(st.floats(0, 2 * np.pi), st.floats(0.1, 10), st.booleans())
def test_edges_that_touch_are_told_wherever_they_lie(
    angle: float, scale: float, floor: bool
) -> None:
    """An arc hanging to the floor, or to an arc on it: rounding puts them 10⁻¹⁵ apart or across."""
    v = drawn(arch(0, 3) if floor else arch(1, 2))
    turned = scale * np.exp(1j * angle) * (v[:, 0] + 1j * v[:, 1])
    (fault,) = faults(np.column_stack([turned.real, turned.imag, v[:, 2]]), axis=False)
    touch = scale * np.exp(1j * angle) * (2 if floor else 2 + 1j)
    assert fault.vertices == (1, 5)
    assert abs(complex(*fault.point) - touch) < 1e-4 * scale  # flat there: ill placed along


@given(st.floats(0, 2 * np.pi), st.floats(0.1, 10))
def test_a_cusp_is_no_fault(angle: float, scale: float) -> None:
    """An arc that leaves a line's end along the line only has that end in common with it.

    The arc, a quarter of a circle about (3, 1), touches y = 0 in (3, 0), where the line ends: a
    double root of their crossing, which rounding would spread to some 10⁻⁸.
    """
    corners = scale * np.exp(1j * angle) * np.array([1, 3, 2 + 1j])
    v = np.column_stack([corners.real, corners.imag, [0, -QUARTER, 0]])
    assert faults(v, axis=False) == ()
    assert faults(v[::-1] * [1, 1, 0] + [[0, 0, QUARTER], [0, 0, 0], [0, 0, 0]], axis=False) == ()


def test_a_negative_x_is_no_fault_without_an_axis() -> None:
    assert faults(drawn([[-1, 0], [1, 0], [0, 1]]), axis=False) == ()


def test_faults_are_worded_with_vertices_from_one() -> None:
    crossing = faults(drawn([[1, 0], [3, 0], [1, 2], [3, 2]]), axis=True)[0]
    assert crossing.says(4) == (
        "outline crosses or touches itself: "
        "the edges from vertex 2 to 3 and from vertex 4 to 1 meet"
    )
    assert crossing.instead == "keep the edges apart"


@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=3, max_size=7))
def test_polygons_on_a_grid_are_sound_when_their_edges_only_share_vertices(
    corners: list[tuple[int, int]],
) -> None:
    """In whole numbers it is decided without rounding whether two segments have a point in common.

    Neighbours share a vertex anyway; they must not run back along each other.
    """
    n = len(corners)
    assume(corners[0] != corners[-1])

    def turn(a: int, b: int, c: int) -> int:
        (ax, ay), (bx, by), (cx, cy) = corners[a % n], corners[b % n], corners[c % n]
        return int(np.sign((bx - ax) * (cy - ay) - (by - ay) * (cx - ax)))

    def on(a: int, b: int, c: int) -> bool:
        (ax, ay), (bx, by), (cx, cy) = corners[a % n], corners[b % n], corners[c % n]
        between = min(ax, bx) <= cx <= max(ax, bx) and min(ay, by) <= cy <= max(ay, by)
        return turn(a, b, c) == 0 and between

    def meet(i: int, j: int) -> bool:
        ends = turn(i, i + 1, j) * turn(i, i + 1, j + 1), turn(j, j + 1, i) * turn(j, j + 1, i + 1)
        return max(ends) < 0 or on(i, i + 1, j) or on(i, i + 1, j + 1) or on(j, j + 1, i)

    sound = all(
        corners[i] != corners[(i + 1) % n]
        and not (on(i, i + 1, i + 2) or on(i + 1, i + 2, i))
        and not any(meet(i, j) for j in range(i + 2, n) if (j + 1) % n != i)
        for i in range(n)
    )
    assert (faults(drawn(corners), axis=True) == ()) == sound


@given(st.integers(0, 10**6))
def test_arcs_that_cross_are_always_told(seed: int) -> None:
    """When two chords of fine polygons of random outlines cross inside both, there is a fault."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 6))
    v = np.column_stack([rng.uniform(0, 4, (n, 2)), rng.uniform(-1.5, 1.5, n)])
    p = sampled(Outline(v), 60)
    step = np.roll(p, -1) - p

    def side(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        return (np.conj(a) * b).imag

    across = side(step[:, None], p - p[:, None]) * side(step[:, None], p + step - p[:, None])
    cross = (across < -1e-9) & (across.T < -1e-9)
    near = np.abs(np.subtract.outer(np.arange(len(p)), np.arange(len(p))))
    crossed = bool(np.any(cross & (near > 1) & (near < len(p) - 1)))
    found = faults(v, axis=False)
    assert bool(found) or not crossed
    for fault in found:
        gap = np.abs(p - complex(*fault.point)).min()
        assert fault.kind != "crossing" or gap < 0.3  # it does lie on the outline


# Profiles


def test_a_stretched_half_circle_is_a_spheroid() -> None:
    """Volume 4πa²c/3; moved up by 5, upside down, it is the same spheroid elsewhere."""
    profile = Profile(outline(D_SHAPE)).placed(2.0, -3.0, 5.0)
    J = profile.turned()
    assert J.volume == pytest.approx(16 * np.pi, rel=1e-14)
    assert J.centroid[2] == pytest.approx(5.0, rel=1e-14)
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
        t = np.linspace(0, 1, 33)
        points = piece.points(t)
        steps = np.linalg.norm(np.diff(points, axis=0), axis=1) * 32
        assert np.all(steps <= piece.speed * (1 + 1e-9))
        assert not piece.straight or steps.min() >= piece.speed * (1 - 1e-9)
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
    fine = sampled(shape, 500)
    fine = 1.5 * fine.real + 1j * (3.0 * fine.imag + 0.5)
    p = corners[:, 0] + 1j * corners[:, 1]
    middles = (p + np.roll(p, -1)) / 2
    assert np.abs(middles[:, None] - fine).min(axis=1).max() < np.hypot(0.01, 0.005)
    assert len(p) < 100
