"""Solids that cross: against formulas and another quadrature, and what they may take."""

from __future__ import annotations

import tracemalloc
from typing import Any

import numpy as np
import pytest
from oracles import meshes
from scipy.integrate import dblquad

from geometry.mesh.sound import solid
from geometry.solids import stretches
from geometry.solids.joined import Joined
from geometry.solids.kept import Kept
from geometry.solids.patches import Lines
from geometry.solids.stretches import Keeping
from shared.errors import InputError

Table = dict[str, Any]
BALL = 4 * np.pi / 3
TOUCHING: list[Table] = [{"kind": "sphere", "diameter": 3}, {"kind": "box", "size": (3, 1, 1)}]


def left(shapes: list[Table], minus: list[Table] | None = None) -> Kept:
    """Return what is left of solids that all hang together."""
    joined = Joined.model_validate({"shapes": shapes, "minus": minus or []})
    (group,) = joined.compound.groups
    assert group.left is not None
    return group.left


def told(found: Kept, true: float, lines: int) -> None:
    """Check that the error told is honest and small, and that it took so many lines at most."""
    assert abs(found.moments.volume / true - 1) <= found.error < 1e-8
    assert found.lines <= lines


def mesh(kind: str, dimensions: Table, n: int) -> Table:
    body = meshes.mesh(kind, dimensions, n)
    return {"kind": "mesh", "unit": "mm", "file": solid("m.stl", meshes.stl(body, 0.1), "mm")}


def in_box(R: float) -> float:
    """Return the volume of a ball within |y|, |z| < ½."""
    return float(dblquad(lambda y, z: 2 * np.sqrt(R * R - y * y - z * z), -0.5, 0.5, -0.5, 0.5)[0])


def test_a_box_whose_faces_touch_the_ball_that_it_sticks_out_of() -> None:
    """Its end faces touch the ball in their middles; what lies within |y|, |z| < ½ is common."""
    told(left(TOUCHING), 1.5**3 * BALL + 3 - in_box(1.5), 10_000)


def test_a_cylinder_that_touches_a_ball_from_within_all_along() -> None:
    """The ball just fits into the tilted cylinder: in common is the ball, and the rim counts."""
    one = [
        {"kind": "cylinder", "diameter": 3, "height": 2, "rotate": (30, 20, 0)},
        {"kind": "sphere", "diameter": 3},
    ]
    joined = Joined.model_validate({"shapes": one, "minus": []})
    caps = 2 * np.pi * 0.5**2 * (3 * 1.5 - 0.5) / 3
    true = np.pi * 1.5**2 * 2 + caps
    assert joined.moments().volume == pytest.approx(true, rel=1e-8)


def test_a_rotated_cylinder_and_a_ball() -> None:
    """In common: ∫ 2πρ · 2√(R² − ρ²) dρ up to the cylinder's radius."""
    one = [
        {"kind": "cylinder", "diameter": 2, "height": 4, "rotate": (30, 20, 0)},
        {"kind": "sphere", "diameter": 3},
    ]
    common = 4 * np.pi / 3 * (2.25**1.5 - 1.25**1.5)
    told(left(one), 4 * np.pi + 1.5**3 * BALL - common, 10_000)


def test_a_box_a_spheroid_and_an_ellipsoid_are_told_the_same_in_any_place() -> None:
    """The moments are those of the same solids turned together, which share no line of sight."""
    solids: list[Table] = [
        {"kind": "box", "size": (2, 2, 2), "at": (0, 0, 0)},
        {"kind": "spheroid", "diameter": 2, "height": 3.5, "at": (0.5, 0, 0)},
        {"kind": "ellipsoid", "diameters": (1, 2, 3), "at": (0, 0.7, 0.2)},
    ]
    found = left(solids)
    assert found.error < 1e-8
    assert found.lines <= 20_000
    grid = np.stack(np.meshgrid(*[(np.arange(80) + 0.5) / 20 - 2] * 3), axis=-1).reshape(-1, 3)
    shapes = Joined.model_validate({"shapes": solids, "minus": []})
    counted = shapes.compound.inside(grid).mean() * 4**3
    assert found.moments.volume == pytest.approx(counted, rel=3e-3)
    turned = [{**one, "rotate": (0, 0, 90), "at": _quarter(one["at"])} for one in solids]
    T = np.array([[0.0, -1, 0, 0], [1, 0, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]])
    assert np.allclose(left(turned).moments.J, found.moments.moved(T).J, atol=1e-8)


def _quarter(at: tuple[float, float, float]) -> tuple[float, float, float]:
    return -at[1], at[0], at[2]


def test_a_tilted_bore_through_a_plate_of_triangles() -> None:
    """A bore of diameter 1 at 30° takes π/4 · height ÷ cos 30° of a plate."""
    plate = mesh("box", {"size": (6, 6, 2)}, 1)
    bore = {"kind": "cylinder", "diameter": 1, "height": 8, "rotate": (30, 0, 0)}
    told(left([plate], [bore]), 72 - np.pi / 2 / np.cos(np.radians(30)), 10_000)


def test_half_of_a_mesh_of_many_triangles_in_little_memory() -> None:
    """It is symmetric: a box from the middle up takes half, through hundreds of triangles."""
    ball = mesh("sphere", {"diameter": 4}, 13)
    whole = ball["file"].moments.volume
    box = {"kind": "box", "size": (5, 5, 4), "at": (0, 0, 2), "rotate": (0, 0, 17)}
    tracemalloc.start()
    try:
        found = left([ball], [box])
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert len(ball["file"].faces) > 1000
    assert found.moments.volume == pytest.approx(whole / 2, rel=1e-6)  # seven digits in STL
    assert found.lines <= 20_000
    assert peak < 200e6


def test_a_ring_cuts_what_pappus_says() -> None:
    """A ring half in a block: what sticks out is half of it, π² R a², by symmetry."""
    ring = {"kind": "ring", "diameter": 4, "thickness": 1}
    block = {"kind": "box", "size": (8, 8, 2), "at": (0, 0, -1)}
    told(left([block, ring]), 128 + np.pi**2 * 2 * 0.5**2, 20_000)


def test_what_takes_too_many_lines_is_refused_with_what_to_do(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(stretches, "MOST", 100)
    with pytest.raises(InputError, match=r"cross in so many places.*draw them as one revolved"):
        left(TOUCHING)


def test_a_first_look_stands_where_a_closer_one_would_take_too_many(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With nothing ever closed enough, a second look is taken; the first one's answer is kept."""
    first = left(TOUCHING)
    monkeypatch.setattr("geometry.solids.kept.CLOSED", 0.0)
    monkeypatch.setattr(stretches, "MOST", first.lines + 100)
    assert left(TOUCHING).moments.volume == first.moments.volume


def test_lines_change_just_where_points_on_them_do() -> None:
    """Against a thousand points a line, asked one by one."""
    shapes = Joined.example()
    plus, minus = ([one.part for one in solids] for solids in (shapes.shapes, shapes.minus))
    keeping = Keeping(plus, minus)
    patch = np.repeat(np.arange(len(keeping.patches.owner)), 5)
    lines = Lines(patch, np.tile([0.11, 0.3, 0.52, 0.77, 0.93], len(patch) // 5))
    found = keeping.stretches(lines)
    u = (np.arange(1000) + 0.5) / 1000
    for k in range(len(lines)):
        ours = found.line == k
        points, across = keeping.patches.at(lines[np.full(1000, k)], u)
        beside = 1e-7 * across / np.linalg.norm(across, axis=1, keepdims=True)
        way = shapes.compound.inside(points - beside) * 1 - shapes.compound.inside(points + beside)
        said = found.way[ours][np.searchsorted(found.begin[ours], u, side="right") - 1]
        assert np.sum(way != said) <= np.sum(ours)
