"""Scenes for the tests of walls: parts from a shape and a place, and the walls between two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from hypothesis import strategies as st
from oracles.differences import value_at, with_value

from geometry.moments import Moments
from geometry.outlines.profile import Profile
from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes import Shape
from geometry.shapes.box import Box
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.dome import Dome
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.extruded import Extruded
from geometry.shapes.revolved import Revolved
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from geometry.surfaces.velocity import Dimension, Path
from geometry.walls.thinnest import Wall, wall

Point = tuple[float, float, float]
INCH = 2.54
CORNERS = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T
BALL = Sphere(diameter=21.8)

angles = st.floats(-180, 180)
points = st.tuples(*[st.floats(-3, 3)] * 3)
turns = st.tuples(angles, angles, angles)


def part(
    shape: Shape, at: Point = (0, 0, 0), rotate: Point = (0, 0, 0), stretch: Point = (1, 1, 1)
) -> Part:
    return Part("part", "host", shape, Placement(at, rotate, stretch))


def longer(of: Part, path: Path, by: float) -> Part:
    """The part with the length at `path` longer by so many cm, its shape checked anew."""
    if path[0] == "at":
        at = with_value(of.placement.at, path[1:], value_at(of.placement.at, path[1:]) + by)
        return replace(of, placement=replace(of.placement, at=at))
    fields = dict(of.shape)
    value = value_at(fields, path[1:]) + by
    return replace(of, shape=type(of.shape).model_validate(with_value(fields, path[1:], value)))


def nested(inner: Part, host: Part) -> Wall:
    return wall(inner, host, nested=True)


def apart(first: Part, second: Part) -> Wall:
    return wall(first, second, nested=False)


def placed(of: Part, local: np.ndarray) -> np.ndarray:
    return local @ of.matrix[:3, :3].T + of.matrix[:3, 3]


def swept(profile: Profile) -> Moments:
    """The moments that a profile's outline has when turned about its line, in the line's axes."""
    across, along = profile.stretch
    T = np.diag([across, across, along, 1.0])
    T[2, 3] = profile.shift
    return profile.outline.turned().moved(T)


def revolved(outline: Sequence[Sequence[float]]) -> Revolved:
    return Revolved.model_validate({"outline": [list(vertex) for vertex in outline]})


def extruded(outline: Sequence[Sequence[float]], height: float) -> Extruded:
    return Extruded.model_validate({"outline": [list(v) for v in outline], "height": height})


WAIST = ((0, -6), (4, -6), (2.5, 0), (4, 6), (0, 6))
"""A block with straight sides that lean in to a waist of radius 2.5 at z = 0."""
WAISTED = revolved(WAIST)


def named(first: Part, second: Part) -> tuple[Part, Part]:
    """The two parts, named "inner" and "outer"."""
    return (
        Part("inner", None, first.shape, first.placement),
        Part("outer", None, second.shape, second.placement),
    )


SMOOTH_PAIRS = {
    # turned about one line, convex: in the section
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
    "block in a ball": (part(Revolved.example(), (0, 0, 0.4)), part(BALL), True),
    "sphere above a stretched dome": (
        part(Sphere(diameter=3), (0, 0, 6)),
        part(Dome(sphere=8, height=3), stretch=(1.2, 1.2, 0.8)),
        False,
    ),
    # convex: in space
    "egg in a ball": (
        part(Ellipsoid(diameters=(4, 5, 9)), (1, 0, 0.5), (15, 0, 0)),
        part(BALL),
        True,
    ),
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
    "spheres apart": (
        part(Sphere(diameter=4), (-3, 0, 0)),
        part(Sphere(diameter=3), (2, 1, 1)),
        False,
    ),
    "spheres too close": (
        part(Sphere(diameter=4), (-1, 0, 0)),
        part(Sphere(diameter=5), (2, 1, 1)),
        False,
    ),
    "capsule beside a cone": (
        part(Capsule(diameter=2, height=5), (6, 0, 0.3), (0, 12, 0)),
        part(Cone(bottom=8, top=4, height=6)),
        False,
    ),
    "cones through each other": (
        part(Cone(bottom=8, top=4, height=6), (-2, 0, 0)),
        part(Cone(bottom=7, top=2, height=8), (4.5, 0.3, 0.5), (180, 0, 10)),
        False,
    ),
    # not convex, turned about one line: by curves
    "ring round a spindle": (
        part(Ring(diameter=11, thickness=2), (0, 0, 0.3)),
        part(Spheroid(diameter=8, height=15)),
        False,
    ),
    "insert on the line of a waisted block": (
        part(Sphere(diameter=2.5), (0, 0, 1)),
        part(WAISTED),
        True,
    ),
    "ring about an arc": (
        part(Ring(diameter=9, thickness=1), (0, 0, 1.5)),
        part(revolved([[0, -6], [4, -6, -0.3], [3.4, 6], [0, 6]])),
        False,
    ),
    # not convex: by surfaces
    "insert in a waisted block": (part(Sphere(diameter=2.5), (0.6, 0.2, 2)), part(WAISTED), True),
    "block with a notch in a ball": (
        part(Extruded.example(), (0.3, -0.2, 0.5), (15, 25, 0)),
        part(BALL),
        True,
    ),
    "insert in a block with a notch": (
        part(Sphere(diameter=2.5), (0.6, 0.2, 0.7)),
        part(Extruded.example(), rotate=(15, 25, 0)),
        True,
    ),
    "insert in the notch of a block": (
        part(Ellipsoid(diameters=(1.5, 2, 2.5)), (-4, 2.2, 0.7), (10, 40, 0)),
        part(Extruded.example()),
        False,
    ),
    "tilted ring round a spindle": (
        part(Ring(diameter=11, thickness=2), (0.4, 0, 0.3), (12, 0, 0)),
        part(Spheroid(diameter=8, height=15)),
        False,
    ),
}


def dimensions(*parts: Part) -> list[Dimension]:
    """All, but the r of a vertex on the axis, which can't go beyond it."""
    return [
        (p.name, path)
        for p in parts
        for path in p.dimensions()
        if not (
            isinstance(p.shape, Revolved)
            and path[1] == "outline"
            and path[3] == 0
            and value_at(dict(p.shape), path[1:]) == 0
        )
    ]


def changed(parts: Sequence[Part], dimension: Dimension, by: float) -> list[Part]:
    """The parts with one dimension longer by so many cm."""
    name, path = dimension
    return [longer(p, path, by) if p.name == name else p for p in parts]
