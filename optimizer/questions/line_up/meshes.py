"""How much triangles may miss of the smooth solid that they stand for, for each ball."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from geometry.parts import Part
from geometry.regions import regions
from geometry.shapes.mesh import Mesh
from optimizer.ball.weight_class import Ball, LinearMap
from optimizer.paper.quantities import Units
from optimizer.paper.words import plural
from shared.arrays import frozen
from shared.units import INCH


def mesh_notes(
    maps: Sequence[LinearMap], balls: Sequence[Ball], names: Mapping[str, str], units: Units
) -> Iterator[str]:
    """Yield each mesh's triangles and what they may miss, then the effect on each of `balls`.

    An estimate, from the angles between triangles (`geometry.mesh.edges`).
    """
    lines = {part.name: _line(part) for linear_map in maps for part in meshes(linear_map)}
    yield from lines.values()
    for ball in balls if lines else ():
        mass, low, high = _change(ball)
        yield (
            f"{names[ball.map.label]}: with smooth surfaces in their place the same densities make "
            f"{mass:+.2g} g of weight, {low / units.rg.factor:+.1g} {units.rg.name} of low RG and "
            f"{(high - low) / units.rg.factor:+.1g} {units.rg.name} of differential."
        )


def mesh_data(ball: Ball) -> dict[str, Any]:
    """Return the same as data, under "meshes"; nothing where no part is a mesh."""
    parts = meshes(ball.map)
    if not parts:
        return {}
    mass, low, high = _change(ball)
    return {
        "meshes": {
            "missed_cm3": {part.name: _rough(_missed(part)) for part in parts},
            "smooth_minus_told": {
                "mass_g": _rough(mass),
                "rg_low_in": _rough(low / INCH),
                "differential_in": _rough((high - low) / INCH),
            },
        }
    }


def _rough(value: float) -> float:
    return float(f"{value:.3g}")


def meshes(linear_map: LinearMap) -> tuple[Part, ...]:
    """Return the parts that are meshes."""
    return tuple(part for part in linear_map.parts if isinstance(part.shape, Mesh))


def _missed(part: Part) -> float:
    return part.smooth_moments().volume - part.moments().volume


def _line(part: Part) -> str:
    """Return one line on a mesh: its triangles, and what they may miss."""
    whole, missed = part.moments().volume, _missed(part)
    count = plural(len(part.shape.file.faces), "triangle") if isinstance(part.shape, Mesh) else ""
    if abs(missed) < 1e-9 * whole:
        return f"{part.name} is taken as its {count}, which bend at sharp edges only."
    kind = "more" if missed > 0 else "less"
    return (
        f"{part.name} is taken as its {count}. Where they stand for a smooth surface, that has "
        f"about {100 * abs(missed) / whole:.2g} % {kind} volume ({abs(missed):.2g} g at 1 g/cm³); "
        "edges over 31° are taken for the solid's own."
    )


def _change(ball: Ball) -> tuple[float, float, float]:
    """Return the changes of mass (g), low and high RG (cm) with smooth surfaces."""
    parts = ball.map.parts
    J = frozen(np.stack([region.moments.J for region in regions(parts, Part.smooth_moments)]))
    smooth = replace(ball.map, moments=J).ball(ball.densities)
    mass = smooth.properties.mass - ball.properties.mass
    return mass, smooth.radii.low - ball.radii.low, smooth.radii.high - ball.radii.high
