"""The targets of a line of balls, as they are written: the tables [target] and [weights]."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BeforeValidator

from optimizer.ball.figures import TARGETED
from optimizer.ball.targets import About, Span, Target
from optimizer.scenario.goals import Sense
from shared.models import (
    Length,
    LengthOrZero,
    Mass,
    RadiusDifference,
    RadiusOfGyration,
    RadiusTolerance,
    StrictModel,
)


def _from_number(*keys: str) -> Callable[[Any], Any]:
    """Return a function that turns a value into a table with it under all `keys`; keeps tables."""

    def table(value: Any) -> Any:
        return value if isinstance(value, dict) else dict.fromkeys(keys, value)

    return table


class RadiusSpan(StrictModel):
    """A radius of gyration between two values: one unknown for the whole line."""

    min: RadiusOfGyration
    max: RadiusOfGyration
    goal: Sense | None = None
    """seek the "most" or the "least" of it; left out: what leaves the most room"""


class DifferenceSpan(StrictModel):
    """A differential between two values: one unknown for the whole line."""

    min: RadiusDifference
    max: RadiusDifference
    goal: Sense | None = None
    """seek the "most" or the "least" of it; left out: what leaves the most room"""


class OffsetSpan(StrictModel):
    """A CG offset between two values: one unknown for the whole line."""

    min: LengthOrZero
    max: LengthOrZero
    goal: Sense | None = None
    """seek the "most" or the "least" of it; left out: what leaves the most room"""


_both = _from_number("min", "max")
RadiusFigure = Annotated[
    RadiusSpan, BeforeValidator(_both, json_schema_input_type=RadiusOfGyration | RadiusSpan)
]
DifferenceFigure = Annotated[
    DifferenceSpan, BeforeValidator(_both, json_schema_input_type=RadiusDifference | DifferenceSpan)
]
OffsetFigure = Annotated[
    OffsetSpan, BeforeValidator(_both, json_schema_input_type=LengthOrZero | OffsetSpan)
]


class TargetTolerance(StrictModel):
    """How far a ball may be from its target, ±."""

    weight: Mass
    """± on the class weight"""
    rg: RadiusTolerance
    """± on the low RG"""
    differential: RadiusTolerance
    """± on the differential"""
    intermediate_differential: RadiusTolerance | None = None
    """± on the intermediate differential, if it has a target"""
    cg_offset: Length | None = None
    """± on the CG offset, if it has a target"""


class TargetText(StrictModel):
    """The table [target]: what all weights must share."""

    rg: RadiusFigure
    """the low RG: a number, or { min, max } for one unknown of the whole line"""
    differential: DifferenceFigure
    """high RG − low RG: a number, or { min, max }"""
    intermediate_differential: DifferenceFigure | None = None
    """high RG − intermediate RG: a number, or { min, max }; left out: no target"""
    cg_offset: OffsetFigure | None = None
    """distance of the CG from the ball's centre: a number, or { min, max }; left out: no target"""
    about: About = "cg"
    """the point the RGs are about: "cg", or "centre" for the ball's geometric centre"""
    tolerance: TargetTolerance
    """± for weight, rg and differential, such as { weight = 0.06, rg = 0.003, … }"""

    @property
    def asked(self) -> Target:
        """The target in the table."""
        asked = ((figure, getattr(self, figure.key)) for figure in TARGETED)
        return {
            figure: Span(span.min, span.max, getattr(self.tolerance, figure.key))
            for figure, span in asked
            if span is not None
        }


class WeightText(StrictModel):
    """One weight class, finished and undrilled."""

    target: Mass
    """the weight to hit"""
    tolerance: Mass | None = None
    """± on this weight, if it differs from the target's"""


WeightFigure = Annotated[
    WeightText, BeforeValidator(_from_number("target"), json_schema_input_type=Mass | WeightText)
]
