"""The figures of a ball by their keys: one file each; the radii of gyration share one."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from optimizer.ball.figures.base import Figure, Measured, Quantity, Subject
from optimizer.ball.figures.cg_offset import CG_OFFSET
from optimizer.ball.figures.density import DENSITY
from optimizer.ball.figures.density_step import DENSITY_STEP
from optimizer.ball.figures.diameter import DIAMETER
from optimizer.ball.figures.pin_distance import PIN_DISTANCE
from optimizer.ball.figures.pin_marking import PIN_MARKING
from optimizer.ball.figures.radii import DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL, LOW_RG, RADII
from optimizer.ball.figures.top_weight import TOP_WEIGHT
from optimizer.ball.figures.wall import WALL
from optimizer.ball.figures.weight import WEIGHT

__all__ = [
    "CG_OFFSET",
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
    "TARGETED",
    "TOP_WEIGHT",
    "WALL",
    "WEIGHT",
    "Figure",
    "Measured",
    "Quantity",
    "Subject",
]

TARGETED: Final[tuple[Figure, ...]] = (*RADII, CG_OFFSET)
"""What a target may ask of all weights beside their class weights, in the order of its columns."""
FIGURES: Final[Mapping[str, Figure]] = MappingProxyType({
    figure.key: figure
    for figure in (
        WEIGHT,
        *RADII,
        TOP_WEIGHT,
        CG_OFFSET,
        PIN_DISTANCE,
        PIN_MARKING,
        DENSITY,
        DENSITY_STEP,
        WALL,
        DIAMETER,
    )
})  # fmt: skip
