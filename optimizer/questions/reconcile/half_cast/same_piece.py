"""Whether what is cast for one weight could be cast into another: the same piece, as drawn."""

from __future__ import annotations

from collections.abc import Collection, Mapping

import numpy as np

from geometry.parts import Part
from optimizer.ball.weight_class import LinearMap
from optimizer.questions.schedule.pouring.casting import piece_volumes
from shared.arrays import Array


def same_piece(
    mine: LinearMap, theirs: LinearMap, parts: Collection[str], cast: Mapping[str, float]
) -> bool:
    """Whether cast `parts` are the same in both weights; they may lie elsewhere in the ball.

    The same parts lie in them, as they leave their moulds, of the same shapes, places and volumes.
    `cast` are the diameters of parts that are cast larger.
    """
    if not all(name in theirs.places for name in parts):
        return False
    own, other = (piece_volumes(linear_map, cast) for linear_map in (mine, theirs))
    return all(
        _alike(_filled(mine, own[name]), _filled(theirs, other[name]))
        and _drawn(mine, name, parts) == _drawn(theirs, name, parts)
        for name in parts
    )


def _filled(linear_map: LinearMap, volumes: Array) -> dict[str, float]:
    """Return the volumes in a piece by part."""
    pairs = zip(linear_map.parts, volumes.tolist(), strict=True)
    return {part.name: volume for part, volume in pairs if volume > 0.0}


def _alike(some: Mapping[str, float], others: Mapping[str, float]) -> bool:
    return some.keys() == others.keys() and all(
        np.isclose(volume, others[name]) for name, volume in some.items()
    )


def _drawn(linear_map: LinearMap, name: str, cast: Collection[str]) -> tuple[object, ...]:
    """Return a cast part as drawn; its place from that of its host, where that is cast, too."""
    parts: Mapping[str, Part] = {part.name: part for part in linear_map.parts}
    part, place = parts[name], parts[name].placement
    apart = None
    if part.inside in cast:
        offset = np.subtract(place.at, parts[str(part.inside)].placement.at)
        apart = tuple((np.round(offset, 9) + 0.0).tolist())
    return part.shape, place.rotate, place.stretch, apart
