"""Derivatives of walls against differences of walls, and every place that ties with the least."""

from __future__ import annotations

import pytest
from oracles.differences import central
from scenes import BALL, WAISTED, Point, longer, part, revolved

from geometry.parts import Part
from geometry.shapes import SHAPES
from geometry.shapes.box import Box
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.dome import Dome
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from geometry.walls import wall, wall_rates


def named(first: Part, second: Part) -> tuple[Part, Part]:
    return (
        Part("inner", None, first.shape, first.placement),
        Part("outer", None, second.shape, second.placement),
    )


SECTION, SPACE, SURFACE = "in the section", "in space", "by surfaces"
PAIRS = {
    "spindle in a ball": (part(Spheroid(diameter=8, height=14), (0, 0, 1)), part(BALL), True),
    "capsule in a spheroid": (
        part(Capsule(diameter=5.5, height=12.5), (0, 0, 0.5)),
        part(Spheroid(diameter=8.4, height=15.5)),
        True,
    ),
    "dome in a cone": (
        part(Dome(sphere=7, height=3), (0, 0, -2.1)),
        part(Cone(bottom=14, top=5, height=11)),
        True,
    ),
    "block in a ball": (part(SHAPES[-1].example(), (0, 0, 0.4)), part(BALL), True),
    "sphere above a stretched dome": (
        part(Sphere(diameter=3), (0, 0, 6)),
        part(Dome(sphere=8, height=3), stretch=(1.2, 1.2, 0.8)),
        False,
    ),
    "egg in a ball": (part(Ellipsoid(diameters=(4, 5, 9)), (1, 0, 0.5), (15, 0, 0)), part(BALL), True),
    "tilted box in a box": (
        part(Box(size=(3, 4, 5)), (0.4, 0.7, 0.1), (10, 20, 30)),
        part(Box(size=(9, 10, 12))),
        True,
    ),
    "capsule in a cone": (
        part(Capsule(diameter=2, height=5), (0.5, 0.2, -1), (0, 25, 0)),
        part(Cone(bottom=14, top=5, height=11), rotate=(5, 0, 0)),
        True,
    ),
    "spheres apart": (part(Sphere(diameter=4), (-3, 0, 0)), part(Sphere(diameter=3), (2, 1, 1)), False),
    "spheres too close": (part(Sphere(diameter=4), (-1, 0, 0)), part(Sphere(diameter=5), (2, 1, 1)), False),
    "capsule beside a cone": (
        part(Capsule(diameter=2, height=5), (6, 0, 0.3), (0, 12, 0)),
        part(Cone(bottom=8, top=4, height=6)),
        False,
    ),
    "ring round a spindle": (
        part(Ring(diameter=11, thickness=2), (0, 0, 0.3)),
        part(Spheroid(diameter=8, height=15)),
        False,
    ),
    "insert on the line of a waisted block": (part(Sphere(diameter=2.5), (0, 0, 1)), part(WAISTED), True),
    "ring about an arc": (
        part(Ring(diameter=9, thickness=1), (0, 0, 1.5)),
        part(revolved([[0, -6], [4, -6, -0.3], [3.4, 6], [0, 6]])),
        False,
    ),
    "insert in a waisted block": (part(Sphere(diameter=2.5), (0.6, 0.2, 2)), part(WAISTED), True),
    "tilted ring round a spindle": (
        part(Ring(diameter=11, thickness=2), (0.4, 0, 0.3), (12, 0, 0)),
        part(Spheroid(diameter=8, height=15)),
        False,
    ),
}  # fmt: skip


@pytest.mark.parametrize("pair", PAIRS)
def test_a_wall_grows_as_differences_of_walls_do(pair: str) -> None:
    """In every length of either part and both places. A move off the line leaves the section road.

    That the walls of parts turned about one line are least at a whole circle makes a kink of every
    move off the line: those are for the test of ties.
    """
    *parts, nested = PAIRS[pair]
    inner, outer = named(*parts)
    before = wall(inner, outer, nested=nested)
    on_line = not any(p.placement.at[k] or p.placement.rotate[k] for p in parts for k in (0, 1))
    loose = 2e-6 if before.error < 1e-8 or on_line else 1e-4
    step = 1e-4 if before.error < 1e-8 else 2e-3
    dimensions = [(p.name, path) for p in (inner, outer) for path in p.dimensions()]
    rates = wall_rates([before], (inner, outer), dimensions)[0]
    checked = 0
    for (name, path), rate in zip(dimensions, rates, strict=True):
        if on_line and path in {("at", 0), ("at", 1)}:
            continue
        if path[1] == "outline" and path[3] == 0 and name_part(name, inner, outer)[path[2]][0] == 0:
            continue

        def thickness(by: float, name: str = name, path: tuple[str | int, ...] = path) -> float:
            changed = [longer(p, path, by) if p.name == name else p for p in (inner, outer)]
            return wall(*changed, nested=nested).thickness

        assert rate == pytest.approx(float(central(thickness, step)), abs=loose), (name, path)
        checked += 1
    assert checked > 3


def name_part(name: str, inner: Part, outer: Part) -> tuple[Point, ...]:
    """The outline of the part of that name."""
    outline: tuple[Point, ...] = (inner if name == "inner" else outer).shape.outline  # type: ignore[attr-defined]
    return outline
