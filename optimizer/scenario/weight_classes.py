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
            label=one.label,
            mass=one.mass,
            mass_tolerance=one.tolerance,
            parts=one.parts,
            moments=region_moments(one.parts),
            walls=mould_walls(one.parts),
            pours=scenario.poured(one),
            target=scenario.target,
            about=scenario.about,
            radius=ball_radius(one.parts),
            arm=scenario.arm,
            free=scenario.free_in(one),
            mould=mould,
        )
        for one in scenario.classes
    )
    return tuple(replace(one, bounds=tuple(_bounds(scenario, one))) for one in maps)


def _bounds(scenario: Scenario, one: LinearMap) -> Iterator[Bound]:
    """Yield all that is asked of a weight class: what is given on both sides, then the limits."""
    for pour in one.pours:
        if pour.fixed:
            yield Bound(
                DENSITY, pour.low, pour.high, pour.part, one.label, pour.tolerance, pour.path
            )
    yield Bound(
        WEIGHT,
        one.mass,
        one.mass,
        weight=one.label,
        tolerance=one.mass_tolerance,
        path=("weights", one.label),
    )
    if one.target is not None:
        target = one.target
        for figure, span, tolerance in zip(RADII, target.spans, target.tolerances, strict=False):
            yield Bound(
                figure,
                span.low,
                span.high,
                weight=one.label,
                tolerance=tolerance,
                path=("target", figure.key),
            )
    for limit in scenario.limits:
        yield from limit.bounds(one)
