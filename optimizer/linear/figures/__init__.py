"""The figures of a ball, a file each (the radii's share one), by their keys."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from optimizer.linear.figures.base import Figure, Measured, Quantity, Subject
from optimizer.linear.figures.density import DENSITY
from optimizer.linear.figures.density_step import DENSITY_STEP
from optimizer.linear.figures.diameter import DIAMETER
from optimizer.linear.figures.pin_distance import PIN_DISTANCE
from optimizer.linear.figures.pin_marking import PIN_MARKING
from optimizer.linear.figures.radii import DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL, LOW_RG, RADII
from optimizer.linear.figures.top_weight import TOP_WEIGHT
from optimizer.linear.figures.wall import WALL
from optimizer.linear.figures.weight import WEIGHT

__all__ = [
    "DENSITY",
    "DENSITY_STEP",
    "DIAMETER",
    "DIFFERENTIAL",
    "FIGURES",
    "INTERMEDIATE_DIFFERENTIAL",
    "LOW_RG",
    "PIN_DISTANCE",
    "PIN_MARKING",
    "RADII",
    "TOP_WEIGHT",
    "WALL",
    "WEIGHT",
    "Figure",
    "Measured",
    "Quantity",
    "Subject",
]

FIGURES: Final[Mapping[str, Figure]] = MappingProxyType({
    figure.key: figure
    for figure in (
        WEIGHT,
        *RADII,
        TOP_WEIGHT,
        PIN_DISTANCE,
        PIN_MARKING,
        DENSITY,
        DENSITY_STEP,
        WALL,
        DIAMETER,
    )
})  # fmt: skip
