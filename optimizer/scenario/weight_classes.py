"""From a scenario to one linear map for each weight class, with all that is asked of its balls."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import DENSITY, RADII, WEIGHT
from optimizer.ball.weight_class import LinearMap
from optimizer.scenario.drawn import ball_radius, mould_walls, region_moments
from optimizer.scenario.moulds import Moulds
from optimizer.scenario.scenario import Scenario


def linear_maps(scenario: Scenario) -> tuple[LinearMap, ...]:
    """Return the map from densities to moments of each weight class, in file order.

    Weight classes with the same mould share its arrays: they are computed once. Free dimensions
    are at their start.
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
    """Yield all that is asked of a weight class: what is given on both sides, then the limits."""
    for pour in linear_map.pours:
        if pour.fixed:
            yield Bound(
                DENSITY, pour.low, pour.high, pour.part, linear_map.label, pour.tolerance, pour.path
            )
    yield Bound(
        WEIGHT,
        linear_map.mass,
        linear_map.mass,
        weight=linear_map.label,
        tolerance=linear_map.mass_tolerance,
        path=("weights", linear_map.label),
    )
    if linear_map.target is not None:
        target = linear_map.target
        for figure, span, tolerance in zip(RADII, target.spans, target.tolerances, strict=False):
            yield Bound(
                figure,
                span.low,
                span.high,
                weight=linear_map.label,
                tolerance=tolerance,
                path=("target", figure.key),
            )
    for limit in scenario.limits:
        yield from limit.bounds(linear_map)
