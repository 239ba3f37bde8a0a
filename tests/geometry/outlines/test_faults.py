"""What is wrong with an outline is found, with its place, and nothing else is."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from oracles.drawings import (
    OUTLINES,
    QUARTER,
    Vertices,
    drawn,
    sampled,
)

from geometry.outlines.faults import faults


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
        ([[0, 0], [1, 1], [0, 1], [0, 0, 0.5]], "repeated", (3, 0), (0, 0)),  # whose arc is that?
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
    p = sampled(v, 60)
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
