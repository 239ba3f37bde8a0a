"""Parts that are set into several hosts: what each host loses, walls, and the order of work."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from geometry.nesting import casting_order, children, painting_order
from geometry.parts import Part
from geometry.placement import Placement
from geometry.regions import region_rates, regions
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from geometry.solids.common import common
from geometry.walls.thinnest import pairs, walls

COVER = Part("cover", None, Sphere(diameter=21.8), Placement())
MANTLE = Part("mantle", "cover", Sphere(diameter=19.0), Placement())
BLOCK = Part("block", "mantle", Sphere(diameter=8.0), Placement())
ROD = Cylinder(diameter=1.2, height=4.0)


def plug(place: Placement, *through: str) -> Part:
    return Part("plug", "cover", ROD, place, through=through or ("mantle",))


UPRIGHT = plug(Placement(at=(0.0, 0.0, 8.8)))
PARTS = (COVER, MANTLE, BLOCK, UPRIGHT)


def test_a_rod_on_the_axis_takes_of_the_mantle_what_the_closed_form_says():
    """A cylinder of radius a from z₀ up to a sphere R: 2π/3 (R³ − (R² − a²)^1.5) − π a² z₀.

    Its second moment along the axis is ∫ r² over the same.
    """
    R, a, z0 = 9.5, 0.6, 6.8
    volume = 2 * np.pi / 3 * (R**3 - (R * R - a * a) ** 1.5) - np.pi * a * a * z0
    found = common(UPRIGHT, MANTLE)
    assert found.error == 0.0
    assert found.moments.volume == pytest.approx(volume, rel=1e-12)
    polar, _ = quad(lambda r: 2 * np.pi * r**3 * (np.sqrt(R * R - r * r) - z0), 0, a)
    J = found.moments.J
    assert J[0, 0] + J[1, 1] == pytest.approx(polar, rel=1e-10)


def test_a_rod_that_points_to_the_centre_is_the_upright_one_turned():
    """Any line through a ball's centre is an axis of the ball: exact in every direction."""
    tilt = np.radians(35.0)
    at = (8.8 * np.sin(tilt), 0.0, 8.8 * np.cos(tilt))
    found = common(plug(Placement(at=at, rotate=(0.0, 35.0, 0.0))), MANTLE)
    assert found.error == 0.0
    turned = np.eye(4)
    turned[:3, :3] = Placement(rotate=(0.0, 35.0, 0.0)).matrix[:3, :3]
    exact = common(UPRIGHT, MANTLE).moments.moved(turned)
    assert np.allclose(found.moments.J, exact.J, rtol=0, atol=1e-11)


def test_each_material_has_its_own_room_and_all_of_them_are_the_ball():
    own = {one.name: one.moments for one in regions(PARTS)}
    whole = {one.name: one.moments() for one in PARTS}
    shared = common(UPRIGHT, MANTLE).moments
    assert np.allclose(sum(one.J for one in own.values()), whole["cover"].J, atol=1e-9)
    assert own["plug"].volume == whole["plug"].volume
    expected = whole["mantle"].volume - whole["block"].volume - shared.volume
    assert own["mantle"].volume == pytest.approx(expected, rel=1e-13)
    ring = whole["cover"].volume - whole["mantle"].volume
    taken = whole["plug"].volume - shared.volume
    assert own["cover"].volume == pytest.approx(ring - taken, rel=1e-13)


def test_a_rod_may_go_on_into_a_third_part():
    bed = Part("bed", "mantle", Spheroid(diameter=12.0, height=14.0), Placement())
    deep = plug(Placement(at=(0.0, 0.0, 8.0)), "mantle", "bed")
    own = {one.name: one.moments for one in regions((COVER, MANTLE, bed, deep))}
    in_mantle, in_bed = (common(deep, host).moments for host in (MANTLE, bed))
    whole = {one.name: one.moments() for one in (MANTLE, bed)}
    left = whole["bed"].volume - in_bed.volume
    assert own["bed"].volume == pytest.approx(left, rel=1e-13)
    left = whole["mantle"].volume - whole["bed"].volume - in_mantle.volume + in_bed.volume
    assert own["mantle"].volume == pytest.approx(left, rel=1e-13)
    assert np.allclose(sum(one.J for one in own.values()), COVER.moments().J, atol=1e-9)


def test_it_has_walls_to_what_else_lies_there_and_none_to_what_it_goes_through():
    named = [(one.name, other.name, nested) for one, other, nested in pairs(PARTS)]
    assert named == [
        ("mantle", "cover", True),
        ("block", "mantle", True),
        ("plug", "cover", True),
        ("block", "plug", False),
    ]
    found = {wall.between: wall.thickness for wall in walls(PARTS)}
    assert found["block", "plug"] == pytest.approx(6.8 - 4.0, abs=1e-6)
    assert found["plug", "cover"] == pytest.approx(10.9 - np.hypot(10.8, 0.6), abs=1e-6)


def test_it_is_set_in_last_and_painted_over_all_that_it_goes_through():
    assert [one.name for one in casting_order(PARTS)] == ["block", "mantle", "cover", "plug"]
    assert [one.name for one in painting_order(PARTS)] == ["cover", "mantle", "block", "plug"]


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ((COVER, MANTLE, plug(Placement(), "bed")), 'inside "bed", which is not a part'),
        ((COVER, MANTLE, BLOCK, plug(Placement(), "block")), "isn't directly inside"),
    ],
)
def test_hosts_that_are_not_in_each_other_are_refused(parts, said):
    with pytest.raises(ValueError, match=said):
        children(parts)


def test_what_moves_has_no_part_set_through_it():
    assert region_rates(PARTS, [("block", ("at", 2))]).shape == (1, 4, 4, 4)
    for name in ("plug", "mantle"):
        with pytest.raises(ValueError, match="no derivative"):
            region_rates(PARTS, [(name, ("at", 2))])
