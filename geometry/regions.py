"""Regions: what is left of a part once the parts inside it are taken out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import sub

import numpy as np

from geometry.moments import Moments
from geometry.parts import Part, children
from geometry.velocity import Dimension
from shared.arrays import Array, frozen


@dataclass(frozen=True)
class Region:
    """A part's own material: its moments about the ball's centre, at unit density."""

    name: str
    moments: Moments


def regions(
    parts: Sequence[Part], measured: Callable[[Part], Moments] = Part.moments
) -> tuple[Region, ...]:
    """Return the region of each part, in the order of `parts`; `measured` gives a part's moments.

    That each part lies within its host and apart from its neighbours is for the walls to show;
    here it is taken for granted. Raises ValueError when the parts are no tree.
    """
    inner = children(parts)
    whole = {part.name: measured(part) for part in parts}

    def own(part: Part) -> Moments:
        return reduce(sub, (whole[child.name] for child in inner[part.name]), whole[part.name])

    return tuple(Region(part.name, own(part)) for part in parts)


def region_rates(parts: Sequence[Part], dimensions: Sequence[Dimension]) -> Array:
    """Return the derivatives (d, n, 4, 4) of the moments of each region in each dimension.

    Regions in the order of `parts`: what a part gains, its host loses. Raises ValueError when the
    parts are no tree, and as `Part.velocity` does.
    """
    children(parts)
    order = {part.name: i for i, part in enumerate(parts)}
    rates = np.zeros((len(dimensions), len(parts), 4, 4))
    for row, (name, path) in zip(rates, dimensions, strict=True):
        part = parts[order[name]]
        gain = part.velocity(path).rate
        row[order[name]] += gain
        if part.inside is not None:
            row[order[part.inside]] -= gain
    return frozen(rates)
