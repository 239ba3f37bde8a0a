"""Regions: a part without the parts inside it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.moments import Moments
from geometry.nesting import children
from geometry.parts import Part
from geometry.solids.common import common
from geometry.surfaces.velocity import Dimension
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

    A part is subtracted from its host; what it shares with an inner host is subtracted from that
    one instead. That each part lies within its host and apart from its neighbours is assumed here;
    the walls show it. Raises ValueError if the parts are not a tree.
    """
    children(parts)
    whole = {part.name: measured(part) for part in parts}
    own = dict(whole)
    for part in parts:
        if part.inside is not None:
            own[part.inside] -= whole[part.name]
    for outer, inner, part, host in through(parts):
        shared = common(part, host).moments
        own[outer] += shared
        own[inner] -= shared
    return tuple(Region(name, moments) for name, moments in own.items())


def region_rates(parts: Sequence[Part], dimensions: Sequence[Dimension]) -> Array:
    """Return the derivatives (d, n, 4, 4) of the moments of each region in each dimension.

    Regions are in the order of `parts`: what a part gains, its host loses. Raises ValueError if the
    parts are not a tree, as `Part.velocity` does, and if a part that moves shares a volume with one
    that goes through it.
    """
    children(parts)
    moving = {name for name, _ in dimensions}
    for _, _, part, host in through(parts):
        if {part.name, host.name} & moving:
            raise ValueError(f'the volume of "{part.name}" in "{host.name}" has no derivative')
    order = {part.name: i for i, part in enumerate(parts)}
    rates = np.zeros((len(dimensions), len(parts), 4, 4))
    for row, (name, path) in zip(rates, dimensions, strict=True):
        part = parts[order[name]]
        gain = part.velocity(path).rate
        row[order[name]] += gain
        if part.inside is not None:
            row[order[part.inside]] -= gain
    return frozen(rates)


def through(parts: Sequence[Part]) -> Iterator[tuple[str, str, Part, Part]]:
    """Yield each inner host of a part: the host around it, its own name, the part, the host."""
    named = {part.name: part for part in parts}
    for part in parts:
        for outer, inner in pairwise(part.hosts):
            yield outer, inner, part, named[inner]
