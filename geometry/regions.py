"""Regions: what is left of a part once the parts inside it are taken out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from operator import sub

from geometry.moments import Moments
from geometry.parts import Part, children


@dataclass(frozen=True)
class Region:
    """A part's own material: its moments about the ball's centre, at unit density."""

    name: str
    moments: Moments


def regions(parts: Sequence[Part]) -> tuple[Region, ...]:
    """Return the region of each part, in the order of `parts`.

    That each part lies within its host and apart from its neighbours is for the walls to show;
    here it is taken for granted. Raises ValueError when the parts are no tree.
    """
    inner = children(parts)
    whole = {part.name: part.moments() for part in parts}

    def own(part: Part) -> Moments:
        return reduce(sub, (whole[child.name] for child in inner[part.name]), whole[part.name])

    return tuple(Region(part.name, own(part)) for part in parts)
