"""The order of casting: what lies in the mould, what is poured around it, and the forces."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from geometry.nesting import casting_order, children, pieces
from geometry.parts import Part
from geometry.regions import regions
from optimizer.ball.weight_class import LinearMap
from optimizer.questions.schedule.pouring.batch import Batch, batch
from optimizer.questions.schedule.pouring.shop import Shop
from shared.arrays import Array, frozen

GRAVITY: Final = 9.80665
"""m/s². Standard gravity (3rd General Conference on Weights and Measures, 1901)."""
NEWTON: Final = 1000.0
"""g m/s² in a newton."""
AIR: Final = 0.0012
"""g/cm³. Air at room temperature, as in weighing (OIML D 28; from memory)."""
WEIGHTS: Final = 8.0
"""g/cm³. The conventional density of a scale's weights (OIML D 28; from memory)."""


@dataclass(frozen=True)
class Held:
    """A piece that is already cast and is held in the liquid.

    `density` is the mean of the whole piece, g/cm³, `volume` its own, cm³, `lift` the net force of
    the liquid on it, N, upward if positive.
    """

    part: str
    volume: float
    density: float
    lift: float


@dataclass(frozen=True, eq=False)
class Casting:
    """One pour of one ball. Masses in g, volumes in cm³, lengths in cm.

    `finished` is the mass of the region as drawn; `cast` includes what is turned off a sphere that
    is cast to `diameter`, and what is drilled out for parts that are set in.
    """

    part: Part
    batch: Batch
    finished: float
    cast: float
    held: tuple[Held, ...]
    diameter: float | None

    @property
    def within(self) -> float:
        """Mass of what already lies in the mould."""
        return sum(held.volume * held.density for held in self.held)

    @property
    def out(self) -> float:
        """Mass of what comes out of the mould, trimmed."""
        return self.within + self.cast

    @property
    def machined(self) -> float:
        """Mass of what is turned or drilled off."""
        return self.cast - self.finished

    @property
    def poured(self) -> float:
        """Mass of what is poured, with the overpour, as the scale shows it."""
        return float(self.batch.pour)

    @property
    def wet_volume(self) -> float:
        """Volume of the liquid that is poured."""
        return self.poured / self.batch.wet

    @property
    def growth(self) -> float | None:
        """Mould length ÷ casting length, None without a mix; pieces held in it no longer shrink."""
        if self.batch.mix is None:
            return None
        held = sum(piece.volume for piece in self.held)
        whole = self.cast / self.batch.density
        return float(np.cbrt((held + whole * self.batch.swell) / (held + whole)))


def lift(liquid: float, solid: float, volume: float) -> float:
    """Return the net force (N, up) on a body held in a liquid: densities g/cm³, volume cm³.

    >>> round(lift(2.2, 0.8, 0.0), 1)
    0.0
    """
    return (liquid - solid) * volume * GRAVITY / NEWTON


def in_air(mass: float, volume: float) -> float:
    """Return what a scale in air reads (g) for a mass (g) with this volume (cm³)."""
    return (mass - AIR * volume) / (1.0 - AIR / WEIGHTS)


def castings(
    linear_map: LinearMap, densities: Mapping[str, float], shop: Shop, balls: int
) -> tuple[Casting, ...]:
    """Return the castings of a weight class, innermost first, for the given densities (g/cm³).

    Raises InputError where the mixer does not hold one ball's pour.
    """
    inside, over = _inside(linear_map), 1.0 + shop.text.overpour
    mixed: Array = np.array([densities[part.name] for part in linear_map.parts])
    room, tree, made = _as_cast(linear_map), children(linear_map.parts), []
    pieces_of = piece_volumes(linear_map, shop.text.cast)
    for part in casting_order(linear_map.parts):
        i, diameter = inside[part.name][0], shop.text.cast.get(part.name)
        volume, whole = float(linear_map.volumes[i]), float(pieces_of[part.name][i])
        mix = batch(linear_map.pours[i], float(mixed[i]), whole * over, shop, balls)
        mixed[i] = mix.density
        finished, cast = volume * mix.density, whole * mix.density
        held = tuple(
            _held(inner.name, room[inside[inner.name]], mixed[inside[inner.name]], mix.wet)
            for inner in tree[part.name]
            if not inner.through
        )
        made.append(Casting(part, mix, finished, cast, held, diameter))
    return tuple(made)


def piece_volumes(linear_map: LinearMap, cast: Mapping[str, float]) -> dict[str, Array]:
    """Return the volumes (n,) of all regions in each part's piece as it leaves its mould, trimmed.

    Parts that are set in later aren't in it, but what is drilled out for them is, and what is
    turned off the spheres that are `cast` to these diameters.
    """
    room, volumes = _as_cast(linear_map), dict[str, Array]()
    for name, inside in _inside(linear_map).items():
        own = np.zeros(len(room))
        own[inside] = room[inside]
        if name in cast:
            own[inside[0]] += np.pi / 6 * cast[name] ** 3 - float(np.sum(own))
        volumes[name] = frozen(own)
    return volumes


def _inside(linear_map: LinearMap) -> dict[str, list[int]]:
    """Return the places of each part, its own first, and of everything cast in it."""
    tree, inside = children(linear_map.parts), dict[str, list[int]]()
    for part in casting_order(linear_map.parts):
        deep = (i for inner in tree[part.name] if not inner.through for i in inside[inner.name])
        inside[part.name] = [linear_map.places[part.name], *deep]
    return inside


def _as_cast(linear_map: LinearMap) -> Array:
    """Return the volumes (n,) that are cast, with what is drilled out for parts set in later."""
    ball, *set_in = pieces(linear_map.parts)
    if not set_in:
        return linear_map.volumes
    drilled = {region.name: region.moments.volume for region in regions(ball)}
    pairs = zip(linear_map.parts, linear_map.volumes.tolist(), strict=True)
    return frozen([drilled.get(part.name, volume) for part, volume in pairs])


def _held(name: str, volumes: Array, densities: Array, liquid: float) -> Held:
    """Return a piece in a liquid (g/cm³), of regions: cm³ and g/cm³, (regions,)."""
    volume = float(np.sum(volumes))
    mean = float(volumes @ densities) / volume
    return Held(name, volume, mean, lift(liquid, mean, volume))
