"""From a scenario to one linear map for each weight class."""

from __future__ import annotations

from optimizer.linear.maps import LinearMap
from optimizer.scenario.drawn import ball_radius, mould_walls, region_moments
from optimizer.scenario.moulds import Moulds
from optimizer.scenario.scenario import Scenario


def linear_maps(scenario: Scenario) -> tuple[LinearMap, ...]:
    """Return the map from densities to moments of each weight class, in file order.

    Weight classes with the same mould share its arrays: they are computed once. Free dimensions
    are at their start.
    """
    mould = Moulds(scenario).map if scenario.free else None
    return tuple(
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
