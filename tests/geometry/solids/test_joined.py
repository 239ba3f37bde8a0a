"""Parts of several solids, against closed forms, sums, and points counted on a grid."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from geometry.outlines.outline import Outline
from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes import SHAPES, AnyShape, Shape
from geometry.shapes.box import Box
from geometry.shapes.sphere import Sphere
from geometry.solids.joined import Joined
from geometry.walls.thinnest import wall
from shared.models import Reading

Table = dict[str, Any]
BALL = 4 * np.pi / 3
TILTED = Placement((0.3, -0.2, 0.5), (20.0, 35.0, 50.0), (1.1, 0.9, 1.2))


def joined(shapes: list[Table], minus: list[Table] | None = None) -> Joined:
    return Joined.model_validate({"shapes": shapes, "minus": minus or []})


def sphere(diameter: float, *at: float) -> Table:
    return {"kind": "sphere", "diameter": diameter, "at": list(at)}


def cylinder(diameter: float, height: float, *at: float, **more: Any) -> Table:
    return {"kind": "cylinder", "diameter": diameter, "height": height, "at": list(at), **more}


def lens(R: float, r: float, d: float) -> float:
    """Return what two balls have in common: a formula from memory, and the sum of two caps."""
    own = np.pi * (R + r - d) ** 2 * (d * d + 2 * d * (r + R) - 3 * (r - R) ** 2) / (12 * d)
    x = (d * d - r * r + R * R) / (2 * d)
    caps = [np.pi * h * h * (3 * s - h) / 3 for s, h in ((R, R - x), (r, r - d + x))]
    assert own == pytest.approx(sum(caps), rel=1e-12)
    return float(own)


def part(shape: Joined | AnyShape, placement: Placement = TILTED) -> Part:
    return Part("part", None, shape, placement)


def test_solids_that_are_apart_add_exactly() -> None:
    one = joined([sphere(2.0, 0, 0, 3), {"kind": "box", "size": [2, 3, 4], "at": [5, 0, 0]}])
    J = sum(solid.part.moments().J for solid in one.shapes)
    assert np.allclose(one.moments().J, J, rtol=1e-14, atol=1e-12)
    assert one.compound.error == 0.0
    assert one.compound.lumps == 2


def test_a_solid_within_another_adds_nothing_and_cuts_exactly() -> None:
    outer = {"kind": "box", "size": [6, 6, 6], "rotate": [10, 20, 30]}
    assert joined([outer, sphere(2.0, 1, 0, 0)]).moments().volume == pytest.approx(216, rel=1e-14)
    cut = joined([outer], [sphere(2.0, 1, 0, 0), sphere(1.0, 1, 0, 0)])
    assert cut.moments().volume == pytest.approx(216 - BALL, rel=1e-14)
    assert cut.compound.error == 0.0


def test_a_cut_that_touches_nothing_is_known_as_such() -> None:
    one = joined([sphere(6.0, 0, 0, 0)], [sphere(2.0, 0, 0, 9)])
    assert one.moments().volume == pytest.approx(27 * BALL, rel=1e-14)
    assert [solid.placement.at for solid in one.compound.idle] == [(0.0, 0.0, 9.0)]


def test_balls_on_one_axis_are_one_turned_outline() -> None:
    one = joined([sphere(6.0, 0, 0, 0), sphere(4.0, 0, 0, 2.5)])
    assert one.moments().volume == pytest.approx(35 * BALL - lens(3, 2, 2.5), rel=1e-13)
    profile = one.profile()
    assert profile is not None
    arcs = profile.outline.vertices[profile.outline.vertices[:, 2] != 0]
    assert np.allclose(arcs[:, :2], [[0, -3], [np.sqrt(9 - 2.25**2), 2.25]])
    assert one.compound.error == 0.0


def test_a_bored_ball_is_a_ball_of_the_height_of_its_bore() -> None:
    """What is left of a ball with a bore of height h is πh³/6, whatever the ball (Cavalieri)."""
    true = np.pi * (2 * np.sqrt(8)) ** 3 / 6
    straight = joined([sphere(6.0, 0, 0, 0)], [cylinder(2.0, 9.0, 0, 0, 0)])
    assert straight.moments().volume == pytest.approx(true, rel=1e-13)
    assert straight.compound.bodies[0].profile is not None


def test_solids_on_a_tilted_line_are_exact_too() -> None:
    way = {"rotate": [30, 40, 0]}
    up = joined([cylinder(2.0, 6.0, 0, 0, 0), {"kind": "capsule", "diameter": 3, "height": 4}])
    tilted = joined(
        [cylinder(2.0, 6.0, 0, 0, 0, **way), {"kind": "capsule", "diameter": 3, "height": 4, **way}]
    )
    T = Placement(rotate=(30.0, 40.0, 0.0)).matrix
    assert tilted.compound.error == 0.0
    assert np.allclose(tilted.moments().J, up.moments().moved(T).J, atol=1e-11)


def test_a_stretched_ball_and_a_straight_cylinder_are_exact() -> None:
    """A spheroid of half axes 2, 2, 4 with a bore is the bored ball, stretched twofold."""
    tall = joined([{"kind": "spheroid", "diameter": 4, "height": 8}], [cylinder(2.0, 9.0, 0, 0, 0)])
    assert tall.compound.error == 0.0
    true = 2 * np.pi * (2 * np.sqrt(3)) ** 3 / 6
    assert tall.moments().volume == pytest.approx(true, rel=1e-13)


def told(one: Joined, true: float) -> None:
    """Check that the error told is honest, and small."""
    off = abs(one.moments().volume / true - 1)
    assert 0 < one.compound.error < 1e-6
    assert off <= one.compound.error
    assert off < 1e-7


def test_balls_off_the_axis_keep_to_the_error_told() -> None:
    told(joined([sphere(6.0, 0, 0, 0), sphere(4.0, 0, 1.5, 2)]), 35 * BALL - lens(3, 2, 2.5))
    told(joined([sphere(6.0, 0, 0, 0)], [sphere(4.0, 0, 1.5, 2)]), 27 * BALL - lens(3, 2, 2.5))


def test_an_octant_of_a_ball_cut_away() -> None:
    box = {"kind": "box", "size": [6, 6, 6], "at": [3, 3, 3]}
    told(joined([sphere(6.0, 0, 0, 0)], [box]), 27 * BALL * 7 / 8)


def test_two_cylinders_that_cross_at_a_right_angle() -> None:
    """They have 16r³/3 in common (Archimedes, The Method)."""
    cross = joined([cylinder(2.0, 6.0, 0, 0, 0), cylinder(2.0, 6.0, 0, 0, 0, rotate=[90, 0, 0])])
    told(cross, 12 * np.pi - 16 / 3)


def test_second_moments_of_balls_that_cross_are_those_of_the_same_on_the_axis() -> None:
    straight = joined([sphere(6.0, 0, 0, 0), sphere(4.0, 0, 0, 2.5)])
    aside = joined([sphere(6.0, 0, 0, 0), sphere(4.0, 0, 1.5, 2)])
    T = Placement(rotate=(-float(np.degrees(np.arctan2(1.5, 2.0))), 0.0, 0.0)).matrix
    assert np.allclose(aside.moments().J, straight.moments().moved(T).J, atol=1e-6)


def test_flush_boxes_count_a_common_face_once() -> None:
    boxes = [{"kind": "box", "size": [2, 2, 2], "at": [0, 0, z]} for z in (0, 1)]
    assert joined(boxes).moments().volume == pytest.approx(12, rel=1e-11)


def test_inside_and_section_agree_with_points_on_a_grid() -> None:
    """Even-odd in the loops, against the solids asked one by one."""
    one = Joined.example()
    T = TILTED.matrix
    loops = part(one).section()
    grid = np.stack(np.meshgrid(*[np.linspace(-7, 7, 61)] * 2), axis=-1).reshape(-1, 2) + 1e-3
    odd = np.zeros(len(grid), dtype=bool)
    for loop in loops:
        back = np.linalg.inv(loop.matrix)
        odd ^= Outline(loop.outline.vertices).contains((grid - loop.shift) @ back.T)
    local = (np.insert(grid, 1, 0.0, axis=1) - T[:3, 3]) @ np.linalg.inv(T[:3, :3]).T
    plus, minus = (
        np.any([s.part.surface.inside(local) for s in solids], axis=0)
        for solids in (one.shapes, one.minus)
    )
    assert np.sum(plus & ~minus) > 100
    assert np.sum(odd != (plus & ~minus)) <= 2  # a point may lie within a chord's error


def test_the_surface_says_the_same_moments() -> None:
    one = part(joined([sphere(6.0, 0, 0, 0), sphere(4.0, 0, 0, 2.5)], [sphere(1.0, 0, 1, 0)]))
    assert np.allclose(one.moments().J, one.moments_by_surface().J, rtol=1e-11, atol=1e-9)


def test_a_length_moves_the_moments_as_a_wider_difference_does() -> None:
    solids = [sphere(6.0, 0, 0, 0), cylinder(2.0, 9.0, 0, 0, 0)]
    one = joined(solids)
    for path, wider in (
        (("shapes", 1, "diameter"), "diameter"),
        (("shapes", 1, "height"), "height"),
    ):
        ends = [
            joined([solids[0], {**solids[1], wider: solids[1][wider] + h}]).moments().J
            for h in (0.01, -0.01)
        ]
        assert np.allclose(one.velocity(path).rate, (ends[0] - ends[1]) / 0.02, atol=2e-3)
    with pytest.raises(ValueError, match="no length"):
        one.velocity(("shapes", 1, "size"))


def test_only_the_solid_that_moves_takes_the_surface_along() -> None:
    one = joined([sphere(6.0, 0, 0, 0), sphere(2.0, 0, 0, 5)])
    moved = one.velocity(("shapes", 1, "at", 0)).at(np.array([[3.0, 0, 0], [1.0, 0, 5.0]]))
    assert np.allclose(moved, [[0, 0, 0], [1, 0, 0]])


def test_the_wall_of_a_join_is_the_least_of_its_solids() -> None:
    ball = part(Sphere(diameter=20.0), Placement())
    one = part(
        joined([sphere(6.0, 0, 0, 0), {"kind": "box", "size": [2, 2, 2], "at": [5, 0, 0]}]),
        Placement(),
    )
    thickness = wall(one, ball, nested=True).thickness
    assert thickness == pytest.approx(10 - np.sqrt(36 + 2), abs=1e-9)
    beside = part(Sphere(diameter=2.0), Placement(at=(8.5, 0.0, 0.0)))
    assert wall(one, beside, nested=False).thickness == pytest.approx(1.5, abs=1e-9)
    assert wall(beside, one, nested=False).thickness == pytest.approx(1.5, abs=1e-9)


def test_a_joined_core_on_one_axis_has_the_wall_of_its_outline() -> None:
    ball = part(Sphere(diameter=20.0), Placement())
    bored = part(joined([sphere(6.0, 0, 0, 0)], [cylinder(2.0, 9.0, 0, 0, 0)]), Placement())
    assert wall(bored, ball, nested=True).thickness == pytest.approx(7.0, abs=1e-7)
    pin = part(joined([cylinder(1.0, 4.0, 0, 0, 0)]), Placement())
    assert wall(pin, bored, nested=False).thickness == pytest.approx(0.5, abs=1e-6)


def test_a_wall_in_a_host_of_several_is_never_told_thicker_than_it_is() -> None:
    host = part(
        joined([{"kind": "box", "size": [8, 8, 8]}, sphere(6.0, 6, 0, 0)], [sphere(2.0, -2, 0, 0)]),
        Placement(),
    )
    inner = part(Box(size=(1.0, 1.0, 1.0)), Placement(at=(2.0, 0.0, 0.0)))
    assert wall(inner, host, nested=True).thickness == pytest.approx(1.5, abs=1e-9)
    close = part(Sphere(diameter=1.0), Placement(at=(0.0, 0.0, 0.0)))
    assert wall(close, host, nested=True).thickness == pytest.approx(0.5, abs=1e-9)


def test_a_solid_is_written_as_it_is_read() -> None:
    text = {
        "shapes": [{"kind": "sphere", "diameter": 2.0}, cylinder(1.0, 2.0, 0, 0, 1.5)],
        "minus": [],
    }
    inches = Reading(length=2.54)
    one = Joined.model_validate(text, context=inches)
    assert one.shapes[0].shape == Sphere(diameter=5.08)
    written = one.model_dump(mode="json", context=inches)
    assert {key: written[key] for key in text} == text


def test_a_wrong_key_in_a_solid_is_refused() -> None:
    with pytest.raises(ValidationError, match="extra_forbidden"):
        joined([{"kind": "sphere", "diameter": 2.0, "height": 2.0}])


@pytest.mark.parametrize("kind", SHAPES, ids=lambda kind: kind.__name__)
def test_no_surface_is_nearer_than_its_clearance(kind: type[Shape]) -> None:
    one = Part("part", None, kind.example(), TILTED)
    points = np.random.default_rng(5).uniform(-9, 9, (60, 3))
    surface = one.surface.view(one.surface.cells(24, 24)).points
    distance = np.min(np.linalg.norm(points[:, None] - surface, axis=2), axis=1)
    assert np.all(one.clearance(points) <= distance + 1e-12)
    assert np.all(one.clearance(surface) <= 1e-9)
    assert np.max(one.clearance(points) / distance) > 0.6
