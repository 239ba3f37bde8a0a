"""The limits, one file each. To add one, write its file and name it in `LimitsText`.

A limit yields bounds on figures of `optimizer.ball.figures` and nothing else.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator

from optimizer.ball.limits.base import Limit
from optimizer.ball.limits.density import DensityRange
from optimizer.ball.limits.density_step import DensityStep
from optimizer.ball.limits.intermediate_differential import IntermediateDifferential
from optimizer.ball.limits.pin_distance import PinDistance
from optimizer.ball.limits.rulebook import Rulebook
from optimizer.ball.limits.top_weight import TopWeight
from optimizer.ball.limits.wall import WallException, WallLimit
from shared.models import StrictModel

__all__ = [
    "DensityRange",
    "DensityStep",
    "IntermediateDifferential",
    "Limit",
    "LimitsText",
    "PinDistance",
    "Rulebook",
    "TopWeight",
    "WallException",
    "WallLimit",
]


def _named(value: Any) -> Any:
    return {"name": value} if isinstance(value, str) else value


class LimitsText(StrictModel):
    """The table [limits]: a key for each kind of limit. The density ranges are always held."""

    rulebook: Annotated[
        Rulebook | None, BeforeValidator(_named, json_schema_input_type=str | Rulebook)
    ] = None
    """the governing body's figures: its name, or a table with the name in it"""
    top_weight: TopWeight | None = None
    pin_distance: PinDistance | None = None
    wall: WallLimit | None = None
    density_step: DensityStep | None = None
    intermediate_differential: IntermediateDifferential | None = None

    @property
    def held(self) -> tuple[Limit, ...]:
        """All limits to keep, the density ranges first."""
        given = (getattr(self, name) for name in type(self).model_fields)
        return (DensityRange(), *(limit for limit in given if limit is not None))
