"""What a little more density of one part does, the mass made up by another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

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

    It is one that stands in every weight that the part stands in.
    Those that are sought come before those that are given, and a partner can give the mass: no
    ball has it below nothing. A part for which there is none is left out.
    """
    pours = {pour.part: pour for ball in balls for pour in ball.map.pours}
    found = {}
    for part in pours:
        having = [_own(ball) for ball in balls if ball.density(part) is not None]
        able = {
            other: float(np.mean([own[other].volume for own in having]))
            for other in pours
            if other != part
            and all(other in own and own[other].mass >= MORE * own[part].volume for own in having)
        }
        if able:
            found[part] = min(able, key=lambda other: (pours[other].fixed, -able[other]))
    return found


class _Own(NamedTuple):
    """A part's own volume, cm³, and its mass, g."""

    volume: float
    mass: float


def _own(ball: Ball) -> dict[str, _Own]:
    """Return the volume and the mass of each part's own material in a ball."""
    volumes = ball.map.volumes
    return {
        pour.part: _Own(*pair)
        for pour, *pair in zip(
            ball.map.pours, volumes.tolist(), (volumes * ball.densities).tolist(), strict=True
        )
    }


def levers(ball: Ball, partner: Mapping[str, str]) -> tuple[Lever, ...]:
    """Return one lever for each part of a ball that has a partner.

    Measured by casting the changed ball.
    """
    pours = ball.map.pours
    place = {pour.part: i for i, pour in enumerate(pours)}
    found = []
    for one, other in partner.items():
        if one not in place:
            continue
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
