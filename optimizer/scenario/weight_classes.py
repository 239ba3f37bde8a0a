"""From a scenario to one linear map for each weight class, with the bounds on its balls."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import DENSITY, WEIGHT
from optimizer.ball.weight_class import LinearMap
from optimizer.scenario.drawn import ball_radius, mould_walls, region_moments
from optimizer.scenario.moulds import Moulds
from optimizer.scenario.scenario import Scenario
from shared.models import Path


def linear_maps(scenario: Scenario) -> tuple[LinearMap, ...]:
    """Return the map from densities to moments of each weight class, in file order.

    Weight classes with the same mould share its arrays, computed once. Free dimensions are at their
    start.
    """
    mould = Moulds(scenario).map if scenario.free else None
    maps = (
        LinearMap(
            label=class_drawing.label,
            mass=class_drawing.mass,
            mass_tolerance=class_drawing.tolerance,
            parts=class_drawing.parts,
            moments=region_moments(class_drawing.parts),
            walls=mould_walls(class_drawing.parts),
            pours=scenario.poured(class_drawing),
            target=scenario.target,
            about=scenario.about,
            radius=ball_radius(class_drawing.parts),
            arm=scenario.arm,
            free=scenario.free_in(class_drawing),
            mould=mould,
        )
        for class_drawing in scenario.classes
    )
    return tuple(
        replace(linear_map, bounds=tuple(_bounds(scenario, linear_map))) for linear_map in maps
    )


def _bounds(scenario: Scenario, linear_map: LinearMap) -> Iterator[Bound]:
    """Yield the bounds on a weight class: those on both sides, then the limits."""
    label, mass = linear_map.label, linear_map.mass
    for pour in linear_map.pours:
        if pour.fixed:
            ends = pour.low, pour.high
            yield Bound(DENSITY, *ends, pour.part, label, pour.tolerance, pour.path)
    path: Path = ("weights", label)
    yield Bound(WEIGHT, mass, mass, None, label, linear_map.mass_tolerance, path)
    for figure, span in linear_map.target.items():
        path = ("target", figure.key)
        yield Bound(figure, span.low, span.high, None, label, span.tolerance, path)
    for limit in scenario.limits:
        yield from limit.bounds(linear_map)
