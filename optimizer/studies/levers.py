"""What a little more density of one part does, the mass made up by another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.linear.maps import Ball, LinearMap

MORE: Final = 0.01
"""g/cm³ that a part gets more."""


@dataclass(frozen=True)
class Lever:
    """A part made denser by MORE: its partner's change (g/cm³), and what becomes of the ball, cm.

    `fixed`: the scenario gives the part's density, or its partner's.
    """

    part: str
    partner: str
    partner_change: float
    rg: float
    differential: float
    fixed: bool


def partners(maps: Sequence[LinearMap]) -> dict[str, str]:
    """Return each part's partner, the same in every weight: the largest region that is sought.

    That one's own partner is the next; where only one is sought, or none, the largest others.
    """
    pours, volumes = maps[0].pours, np.mean([one.volumes for one in maps], axis=0)
    order = sorted(range(len(pours)), key=lambda k: (pours[k].fixed, -volumes[k]))
    return {
        pour.part: pours[next(k for k in order if pours[k].part != pour.part)].part
        for pour in pours
    }


def levers(ball: Ball, partner: dict[str, str]) -> tuple[Lever, ...]:
    """Return one lever for each part of `ball`, measured exactly by casting the changed ball."""
    pours = ball.map.pours
    place = {pour.part: i for i, pour in enumerate(pours)}
    found = []
    for i, pour in enumerate(pours):
        j = place[partner[pour.part]]
        change = np.zeros(len(pours))
        change[i] = MORE
        change[j] = -MORE * ball.map.volumes[i] / ball.map.volumes[j]
        other = ball.map.ball(ball.densities + change)
        found.append(
            Lever(
                pour.part,
                pours[j].part,
                float(change[j]),
                other.radii.low - ball.radii.low,
                other.radii.differential - ball.radii.differential,
                pour.fixed or pours[j].fixed,
            )
        )
    return tuple(found)
