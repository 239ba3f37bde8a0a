"""Regions: a part's own material, and that all regions together are the ball."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from oracles.strategies import positions, rotations

from geometry.moments import Moments
from geometry.parts import Part
from geometry.placement import Placement
from geometry.regions import regions
from geometry.shapes import Shape
from geometry.shapes.box import Box
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere


def part(name: str, inside: str | None, shape: Shape, at: tuple[float, ...] = (0, 0, 0)) -> Part:
    return Part(name, inside, shape, Placement(at=(at[0], at[1], at[2])))


def test_a_cover_is_a_thick_shell() -> None:
    """2/5 m (R⁵ − r⁵)/(R³ − r³): Beer & Johnston, Vector Mechanics, inside cover (from memory)."""
    R, r = 10.9, 9.5
    cover, mantle = regions(
        [
            part("cover", None, Sphere(diameter=2 * R)),
            part("mantle", "cover", Sphere(diameter=2 * r)),
        ]
    )
    volume = 4 / 3 * np.pi * (R**3 - r**3)
    assert cover.moments.volume == pytest.approx(volume, rel=1e-14)
    expected = 0.4 * volume * (R**5 - r**5) / (R**3 - r**3)
    np.testing.assert_allclose(cover.moments.inertia, expected * np.eye(3), rtol=1e-13)
    assert mantle.moments.volume == pytest.approx(4 / 3 * np.pi * r**3, rel=1e-14)


@given(positions, rotations)
def test_shell_plus_core_is_the_ball(
    at: tuple[float, float, float], rotate: tuple[float, float, float]
) -> None:
    """Each part is taken out of its host once and only there, so all regions make the outermost."""
    ball = part("ball", None, Sphere(diameter=21.8))
    parts = [
        part("pin", "block", Sphere(diameter=1.0), at),
        ball,
        Part("block", "mantle", Box(size=(3, 4, 5)), Placement(at=at, rotate=rotate)),
        part("mantle", "ball", Sphere(diameter=19.0), (0, 0, 0.4)),
        part("girdle", "mantle", Ring(diameter=12, thickness=2)),
    ]
    found = regions(parts)
    assert [region.name for region in found] == ["pin", "ball", "block", "mantle", "girdle"]
    total = sum((region.moments for region in found), Moments.zero())
    np.testing.assert_allclose(total.J, ball.moments().J, rtol=0, atol=1e-9)


def test_a_region_loses_only_the_parts_directly_inside() -> None:
    """Volumes: 4/3 π r³ with r = 4, 2, 1; the innermost is no part of the outermost's business."""
    outer, middle, inner = regions(
        [
            part("a", None, Sphere(diameter=8)),
            part("b", "a", Sphere(diameter=4)),
            part("c", "b", Sphere(diameter=2)),
        ]
    )
    volumes = [region.moments.volume / (4 / 3 * np.pi) for region in (outer, middle, inner)]
    np.testing.assert_allclose(volumes, [64 - 8, 8 - 1, 1], rtol=1e-14)
