"""What a little more density of one part does, the mass made up by another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.linear.maps import Ball

MORE: Final = 0.01
"""g/cm³ that a part gets more."""


@dataclass(frozen=True)
class Lever:
    """A part made denser by MORE: its partner's change (g/cm³), and what becomes of the ball, cm.

    `given` are those of the two whose density the scenario gives.
    """

    part: str
    partner: str
    partner_change: float
    rg: float
    differential: float
    given: tuple[str, ...]


def partners(balls: Sequence[Ball]) -> dict[str, str]:
    """Return each part's partner, the same in every weight: the largest other region by volume.

    Those that are sought come before those that are given, and a partner can give the mass: no
    ball has it below nothing. A part for which there is none is left out.
    """
    pours = balls[0].map.pours
    volumes = np.array([ball.map.volumes for ball in balls])
    spare = volumes * np.array([ball.densities for ball in balls])
    order = sorted(range(len(pours)), key=lambda k: (pours[k].fixed, -np.mean(volumes[:, k])))
    found = {}
    for i, pour in enumerate(pours):
        able = [k for k in order if k != i and bool(np.all(spare[:, k] >= MORE * volumes[:, i]))]
        if able:
            found[pour.part] = pours[able[0]].part
    return found


def levers(ball: Ball, partner: Mapping[str, str]) -> tuple[Lever, ...]:
    """Return one lever for each part that has a partner, measured by casting the changed ball."""
    pours = ball.map.pours
    place = {pour.part: i for i, pour in enumerate(pours)}
    found = []
    for one, other in partner.items():
        i, j = place[one], place[other]
        change = np.zeros(len(pours))
        change[i] = MORE
        change[j] = -MORE * ball.map.volumes[i] / ball.map.volumes[j]
        changed = ball.map.ball(ball.densities + change)
        found.append(
            Lever(
                one,
                other,
                float(change[j]),
                changed.radii.low - ball.radii.low,
                changed.radii.differential - ball.radii.differential,
                tuple(pours[k].part for k in (i, j) if pours[k].fixed),
            )
        )
    return tuple(found)
