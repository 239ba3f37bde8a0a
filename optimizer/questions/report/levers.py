"""The effect of a little more density of one part, with the mass made up by another part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.ball.weight_class import Ball
from optimizer.questions.parts.finding import MORE


@dataclass(frozen=True)
class Lever:
    """A part made denser by MORE: its partner's change (g/cm³), and the changes of the ball, cm.

    `given` are those of the two whose density the scenario fixes.
    """

    part: str
    partner: str
    partner_change: float
    rg: float
    differential: float
    given: tuple[str, ...]


def partners(balls: Sequence[Ball]) -> dict[str, str]:
    """Return each part's partner, the same in every weight: the largest other region by volume.

    It stands in every weight that has the part, with enough mass to give. Free densities come
    before fixed ones. A part without a possible partner is left out.
    """
    pours = {pour.part: pour for ball in balls for pour in ball.map.pours}
    every, chosen = list(map(_own, balls)), {}
    for part in pours:
        having = [own for own in every if part in own]
        able = {
            other: float(np.mean([own[other][0] for own in having]))
            for other in pours
            if other != part
            and all(other in own and own[other][1] >= MORE * own[part][0] for own in having)
        }
        if able:
            chosen[part] = min(able, key=lambda other: (pours[other].fixed, -able[other]))
    return chosen


def _own(ball: Ball) -> dict[str, tuple[float, float]]:
    """Return the volume (cm³) and the mass (g) of each part's own material in a ball."""
    volumes, masses = ball.map.volumes, ball.map.volumes * ball.densities
    parts = (pour.part for pour in ball.map.pours)
    return dict(zip(parts, zip(volumes.tolist(), masses.tolist(), strict=True), strict=True))


def levers(ball: Ball, partner: Mapping[str, str]) -> tuple[Lever, ...]:
    """Return a lever for each part of a ball that has a partner, measured on the changed ball."""
    pours, every = ball.map.pours, []
    for part, other in partner.items():
        if ball.density(part) is None:
            continue
        i, j = ball.map.places[part], ball.map.places[other]
        change = np.zeros(len(pours))
        change[i] = MORE
        change[j] = -MORE * ball.map.volumes[i] / ball.map.volumes[j]
        changed = ball.map.ball(ball.densities + change)
        every.append(
            Lever(
                part,
                other,
                float(change[j]),
                changed.radii.low - ball.radii.low,
                changed.radii.differential - ball.radii.differential,
                tuple(pours[k].part for k in (i, j) if pours[k].fixed),
            )
        )
    return tuple(every)
