"""The table [gauges]: what a ball is measured with, and how well each repeats.

A number alone is the standard deviation of a single reading (ISO 5725's repeatability standard
deviation; a reading of the limit r, which two readings differ by at most, is 2.8 times as large).
"""

from __future__ import annotations

from typing import Annotated, Any, Generic, TypeVar

from pydantic import BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from optimizer.scenario.text.shop_text import Grams
from shared.models import Distance, Mass, RadiusOfGyration, StrictModel

Q = TypeVar("Q")
Ounces = Annotated[float, Field(gt=0, le=100)]
Seconds = Annotated[float, Field(gt=0, le=1e4)]


class Gauge(StrictModel, Generic[Q]):
    """How well a gauge repeats, and what a reading costs."""

    sd: Q
    """the standard deviation of a single reading"""
    cost: Annotated[float, Field(gt=0)] | None = None
    """what a reading costs, in any money or time"""


def _alone(value: Any) -> Any:
    return value if isinstance(value, dict) else {"sd": value}


class MassGauge(Gauge[Mass]):
    """A gauge of weights."""


class GramGauge(Gauge[Grams]):
    """A gauge of castings, in g."""


class RadiusGauge(Gauge[RadiusOfGyration]):
    """A gauge of radii of gyration, or of their differences."""


class OunceGauge(Gauge[Ounces]):
    """A gauge of static imbalance, in oz."""


class LengthGauge(Gauge[Distance]):
    """A gauge of lengths."""


class SecondGauge(Gauge[Seconds]):
    """A gauge of time, in s."""


MassFigure = Annotated[MassGauge, BeforeValidator(_alone, json_schema_input_type=Mass | MassGauge)]
GramFigure = Annotated[GramGauge, BeforeValidator(_alone, json_schema_input_type=Grams | GramGauge)]
RadiusFigure = Annotated[
    RadiusGauge, BeforeValidator(_alone, json_schema_input_type=RadiusOfGyration | RadiusGauge)
]
OunceFigure = Annotated[
    OunceGauge, BeforeValidator(_alone, json_schema_input_type=Ounces | OunceGauge)
]
LengthFigure = Annotated[
    LengthGauge, BeforeValidator(_alone, json_schema_input_type=Distance | LengthGauge)
]
SecondFigure = Annotated[
    SecondGauge, BeforeValidator(_alone, json_schema_input_type=Seconds | SecondGauge)
]


class PendulumText(StrictModel):
    """A torsion pendulum, by what it does empty and with a known inertia on its table."""

    inertia: Annotated[float, Field(gt=0)]
    """the known moment of inertia, in the unit of weight times the square of that of rg"""
    period: Seconds
    """s: the period with it"""
    empty: Seconds
    """s: the period of the empty table"""

    @model_validator(mode="after")
    def _slower(self) -> PendulumText:
        if self.period <= self.empty:
            words = {"period": f"{self.period:g}", "empty": f"{self.empty:g}"}
            text = (
                "swings in {period} s with the known inertia and in {empty} s empty; what lies on "
                "the table makes the period longer"
            )
            raise PydanticCustomError("pendulum", text, words)
        return self


class GaugesText(StrictModel):
    """The shop's gauges: how well each repeats; one left out is assumed, and told."""

    casting: GramFigure | None = None
    """g: the scale that weighs castings"""
    weight: MassFigure | None = None
    """the scale that weighs balls"""
    rg: RadiusFigure | None = None
    """what measures a radius of gyration"""
    differential: RadiusFigure | None = None
    """what measures a differential"""
    period: SecondFigure | None = None
    """s: what times the pendulum"""
    top_weight: OunceFigure | None = None
    """oz: the balance for top weight"""
    diameter: LengthFigure | None = None
    """what measures the ball's diameter"""
    pendulum: PendulumText | None = None
    """a torsion pendulum, for radii of gyration that are given as periods"""
