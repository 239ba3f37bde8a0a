"""Moments from a surface alone agree with those of the shapes, and with what is known."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from oracles import quadrature
from oracles.quadrature import apart
from oracles.solids import dimensions
from oracles.strategies import positions, rotations, solids, stretches
from pydantic import TypeAdapter

from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes import SHAPES, AnyShape, Shape
from geometry.shapes.ring import Ring
from geometry.surfaces.surface import flux_moments

ANY: TypeAdapter[Shape] = TypeAdapter(AnyShape)


@pytest.mark.parametrize("kind", SHAPES)
def test_every_shape_has_the_moments_of_its_surface(kind: type[Shape]) -> None:
    """Closed forms and outlines against the flux through the surface: nothing is shared."""
    placement = Placement((0.3, -0.2, 0.5), (20.0, 40.0, 60.0), (0.7, 1.4, 1.1))
    part = Part("p", None, kind.example(), placement)
    assert apart(part.moments().J, part.moments_by_surface().J) < 1e-12


@given(solids, stretches, rotations, positions)
@settings(max_examples=60)
def test_any_solid_anywhere_agrees_with_the_oracle(
    solid: dict[str, Any],
    stretch: tuple[float, float, float],
    rotate: tuple[float, float, float],
    at: tuple[float, float, float],
) -> None:
    """The oracle slices the solid; this one only knows its surface."""
    shape = ANY.validate_python(solid)
    T = Placement(at=at, rotate=rotate, stretch=stretch).matrix
    expected = quadrature.moments(
        solid["kind"], dimensions(shape.model_dump())[1], stretch, rotate, at
    )
    assert apart(flux_moments(shape.surface().moved(T)).J, expected) < 1e-9


def test_a_torus_has_the_volume_that_pappus_gives_it() -> None:
    """2π² R r² (Pappus of Alexandria's second theorem)."""
    torus = flux_moments(Ring(kind="ring", diameter=6.0, thickness=2.0).surface())
    assert torus.volume == pytest.approx(2 * np.pi**2 * 3.0 * 1.0**2, rel=1e-13)
