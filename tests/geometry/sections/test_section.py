"""Sections by the plane y = 0: areas and extents in closed form, and points on the true surface."""

from __future__ import annotations

import numpy as np
import pytest
from scenes import extruded, part, placed, revolved

from geometry.parts import Part
from geometry.sections.chords import SAGITTA
from geometry.sections.section import Loop
from geometry.shapes import SHAPES
from geometry.shapes.box import Box
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.dome import Dome
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid

TILTS = [(0, 0, 0), (0, 25, 0), (25, 0, 0), (90, 0, 0), (90, 30, 15), (40, -20, 70)]


def area(loop: Loop) -> float:
    return float(loop.outline.area_moments()[2, 2] * abs(np.linalg.det(loop.matrix)))


def areas(of: Part) -> list[float]:
    return [area(loop) for loop in of.section()]


def along(loop: Loop) -> np.ndarray:
    """Some 500 points (k, 2) or more round the loop."""
    count = -(-500 // len(loop.outline.vertices))
    t = (np.arange(count) / count)[:, None]
    p = loop.outline.edges.points(t).T.ravel()
    return np.stack([p.real, p.imag], axis=1) @ loop.matrix.T + loop.shift


CLOSED = {
    "sphere": (Sphere(diameter=6), np.pi * 9),
    "spheroid": (Spheroid(diameter=6, height=10), np.pi * 15),
    "ellipsoid": (Ellipsoid(diameters=(4, 6, 10)), np.pi * 10),
    "cylinder": (Cylinder(diameter=4, height=7), 28),
    "cone": (Cone(bottom=5, top=2, height=6), 21),
    "full cone": (Cone(bottom=5, top=0, height=6), 15),
    "capsule": (Capsule(diameter=4, height=9), 20 + 4 * np.pi),
    "dome": (Dome(sphere=6, height=3), 4.5 * np.pi),
    "ring": (Ring(diameter=8, thickness=2), 2 * np.pi),
    "box": (Box(size=(4, 5, 6)), 24),
    "bar": (extruded([(-1, -2), (2, -2, 0.5), (2, 2), (-1, 2, -0.2)], 5), 5 * (3 + 0.6)),
    "tube": (revolved([(1, 0), (2, 0), (2, 3), (1, 3)]), 6),
    "shell with a void": (
        revolved([(0, -3, 1), (0, 3), (0, 1, -1), (0, -1)]),
        9 * np.pi + np.pi,  # both lines are there: the void's area counts as drawn
    ),
}


@pytest.mark.parametrize("name", CLOSED)
@pytest.mark.parametrize("tilt", [0.0, 37.0, 180.0])
def test_a_section_along_the_axis_has_the_closed_form_area(name, tilt):
    """Turning about y, moving in the plane, stretching by 2 along z: the area is doubled."""
    shape, known = CLOSED[name]
    of = part(shape, (0.3, 0, -0.4), (0, tilt, 0), (1, 1, 2))
    assert sum(areas(of)) == pytest.approx(2 * known, rel=1e-12)
    assert all(loop.error == 0 for loop in of.section())


@pytest.mark.parametrize("kind", SHAPES, ids=lambda kind: kind.__name__)
@pytest.mark.parametrize("tilt", TILTS)
@pytest.mark.parametrize("off", [0.0, 0.7])
def test_every_line_of_a_section_parts_inside_from_outside(kind, tilt, off):
    """Seen by the surface's own test of inside, which knows no section."""
    of = part(kind.example(), (0.2, off, -0.3), tilt, (1.0, 1.1, 0.9))
    found = of.section()
    assert found
    for loop in found:
        points = along(loop)
        after = np.roll(points, -1, axis=0) - points
        sharp = np.linalg.norm(after, axis=1) > 1e-6
        side = np.stack([-after[:, 1], after[:, 0]], axis=1)[sharp]
        side /= np.linalg.norm(side, axis=1, keepdims=True)
        middle = (points + after / 2)[sharp]
        step = 0.02  # beyond what chords between these samples give away
        seen = [
            of.surface.inside(np.insert(middle + way * step * side, 1, 0.0, axis=1))
            for way in (1.0, -1.0)
        ]
        assert np.mean(seen[0] != seen[1]) > 0.97  # the rest is beside a corner


@pytest.mark.turns(3)
@pytest.mark.parametrize("tilt", TILTS)
def test_a_section_has_the_area_that_counting_points_gives(tilt):
    """A block with a waist, off the plane: 10⁶ points of a grid in the plane, half a per cent."""
    of = part(revolved([(0, -6), (4, -6), (2.5, 0), (4, 5, 0.35), (0, 7.5)]), (0, 0.8, 0), tilt)
    side = np.linspace(-9, 9, 1001)
    x, z = (grid.ravel() for grid in np.meshgrid(side, side))
    inside = of.surface.inside(np.stack([x, 0 * x, z], axis=1))
    counted = inside.mean() * (1001 * (side[1] - side[0])) ** 2
    assert sum(areas(of)) == pytest.approx(counted, rel=5e-3)


def test_chords_are_as_near_as_they_say():
    """A cylinder cut aslant is half an ellipse and more: x² = r² − (z sin)², as a chord sees it."""
    of = part(Cylinder(diameter=4, height=30), (0, 0, 0), (60, 0, 0))
    (loop,) = of.section()
    assert loop.error == SAGITTA
    points = loop.outline.vertices[:, :2]
    chords = (points + np.roll(points, -1, axis=0)) / 2
    a, b = 2.0, 2.0 / np.sin(np.radians(60))
    off = np.abs(np.hypot(chords[:, 0] / a, chords[:, 1] / b) - 1) * a
    assert off.max() < SAGITTA
    assert area(loop) == pytest.approx(np.pi * a * b, rel=1e-4)


def test_a_ring_cut_beside_its_axis_is_two_lines_and_near_its_edge_one():
    ring = Ring(diameter=8, thickness=2)
    assert len(part(ring, (0, 1.0, 0)).section()) == 2
    assert len(part(ring, (0, 3.5, 0)).section()) == 1
    assert len(part(ring, (0, 0, 0.5), (90, 0, 0)).section()) == 2
    assert part(ring, (0, 6.0, 0)).section() == ()


def test_a_part_beside_the_plane_has_no_section():
    for shape in (Sphere(diameter=2), Box(size=(2, 2, 2)), Capsule(diameter=2, height=3)):
        assert part(shape, (0, 5, 0)).section() == ()


def test_a_section_is_where_the_part_is():
    """Corners of a tilted box, by the part's own placement."""
    of = part(Box(size=(2, 3, 4)), (1, 0, -1), (0, 30, 0))
    (loop,) = of.section()
    corners = placed(of, np.array([[1, 0, 2], [1, 0, -2], [-1, 0, 2], [-1, 0, -2]]))[:, [0, 2]]
    drawn = loop.outline.vertices[:, :2]
    assert sorted(map(tuple, np.round(drawn, 9))) == sorted(map(tuple, np.round(corners, 9)))
