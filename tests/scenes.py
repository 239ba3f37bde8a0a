"""Scenes for the tests of walls: parts from a shape and a place, and the walls between two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from hypothesis import strategies as st
from oracles.differences import value_at, with_value

from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes import Shape
from geometry.shapes.revolved import Revolved
from geometry.shapes.sphere import Sphere
from geometry.velocity import Path
from geometry.walls import Wall, wall

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


def revolved(outline: Sequence[Sequence[float]]) -> Revolved:
    return Revolved.model_validate({"outline": [list(vertex) for vertex in outline]})


WAIST = ((0, -6), (4, -6), (2.5, 0), (4, 6), (0, 6))
"""A block with straight sides that lean in to a waist of radius 2.5 at z = 0."""
WAISTED = revolved(WAIST)
