"""The table [spread]: what the shop knows of how much its quantities vary.

A number alone is ±, read as `declared` says, like the tolerances of materials.
"""

from __future__ import annotations

from typing import Annotated, Any, Final, Generic, Literal, TypeVar

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator
from pydantic_core import PydanticCustomError

from optimizer.scenario.text.material_text import Name, SameDensity
from optimizer.spread.distribution import Distribution, Normal, Triangular, Uniform
from shared.models import AsTuple, Density, Distance, Mass, StrictModel

Declared = Literal["uniform", "2 sigma", "3 sigma"]
KINDS: Final = ("declared", "uniform", "triangular", "sd")
"""The keys of a distribution: each says all of it."""
Q = TypeVar("Q")

TiltAngle = Annotated[float, Field(gt=0, le=45)]
"""Degrees."""
LEAST = 0.25
"""The least that a tolerance can be made, as a share of the present one, where nothing is said."""


def declared(half: float, how: Declared) -> Distribution:
    """Return the distribution that ± `half` stands for."""
    if how == "uniform":
        return Uniform(half=half)
    return Normal(deviation=half / float(how.split()[0]))


class SpreadOf(StrictModel, Generic[Q]):
    """How one quantity varies about its nominal value: one of the four, and how it is known."""

    declared: Q | None = None
    """±, read as [spread] declared says; the same as a number alone"""
    uniform: Q | None = None
    """±: anything within is equally likely"""
    triangular: Q | None = None
    """±: the likelier the nearer to the nominal value"""
    sd: Q | None = None
    """the standard deviation of a normal distribution"""
    bound: Q | None = None
    """with sd: nothing lies farther off than ± this"""
    measured: Annotated[int, Field(ge=2)] | None = None
    """the number of pieces or batches it was measured on; left out: assumed"""
    least: Q | None = None
    """the tightest the shop could hold, read as the figure beside it; left out: see least_share"""
    price: Annotated[float, Field(gt=0)] | None = None
    """what holding the present one costs, in any money; half as wide costs twice as much"""

    @model_validator(mode="after")
    def _one(self) -> SpreadOf[Q]:
        given = [key for key in KINDS if getattr(self, key) is not None]
        if len(given) != 1:
            words = {
                "what": "says nothing" if not given else "says two things: " + ", ".join(given)
            }
            text = "{what}; give one of uniform, triangular and sd"
            raise PydanticCustomError("spread", text, words)
        if self.bound is not None and self.sd is None:
            raise PydanticCustomError("spread", "has a bound, but no sd; a bound cuts off a normal")
        return self

    @model_validator(mode="after")
    def _least_within(self, info: ValidationInfo) -> SpreadOf[Q]:
        if self.reach(LEAST) > 1.0:
            written = self.model_dump(context=info.context)
            text = "has a least of {least}, above its present {present}; give a smaller least"
            words = {"least": f"{written['least']:g}", "present": f"{written[self._key]:g}"}
            raise PydanticCustomError("spread", text, words)
        return self

    @property
    def _key(self) -> str:
        """The key of the figure that says how wide it is."""
        return next(k for k in ("declared", "uniform", "triangular", "sd") if getattr(self, k))

    def reach(self, share: float) -> float:
        """Return how tight it could be made, over the present; `share` where it isn't said."""
        known: Any = self
        return share if known.least is None else float(known.least / getattr(known, self._key))

    def distribution(self, how: Declared, unit: float = 1.0) -> Distribution:
        """Return the distribution, its quantity times `unit`; `how` reads a number alone."""
        known: Any = self
        if known.declared is not None:
            law = declared(known.declared * unit, how)
        elif known.uniform is not None:
            law = Uniform(half=known.uniform * unit)
        elif known.triangular is not None:
            law = Triangular(half=known.triangular * unit)
        elif known.bound is not None:
            law = Normal(deviation=known.sd * unit, bound=known.bound * unit)
        else:
            law = Normal(deviation=known.sd * unit)
        return type(law)(**{**vars(law), "count": known.measured})


def _alone(value: Any) -> Any:
    return value if isinstance(value, dict) else {"declared": value}


class LengthSpread(SpreadOf[Distance]):
    """How a length varies about its nominal value."""


class AngleSpread(SpreadOf[TiltAngle]):
    """How an angle varies about its nominal value."""


class MassSpread(SpreadOf[Mass]):
    """How a weight varies about its nominal value."""


class BatchSpread(SpreadOf[Density]):
    """How balls of one batch differ in density."""


BatchFigure = Annotated[
    BatchSpread, BeforeValidator(_alone, json_schema_input_type=Density | BatchSpread)
]


class DensitySpread(SpreadOf[Density]):
    """How a part's density varies from batch to batch, and within one batch."""

    within: BatchFigure | None = None
    """how balls of one batch differ"""
    batch: SameDensity = "none"
    """the weights that one batch serves: "none" (each its own), "all", or groups of labels"""


LengthFigure = Annotated[
    LengthSpread, BeforeValidator(_alone, json_schema_input_type=Distance | LengthSpread)
]
AngleFigure = Annotated[
    AngleSpread, BeforeValidator(_alone, json_schema_input_type=TiltAngle | AngleSpread)
]
MassFigure = Annotated[
    MassSpread, BeforeValidator(_alone, json_schema_input_type=Mass | MassSpread)
]
DensityFigure = Annotated[
    DensitySpread, BeforeValidator(_alone, json_schema_input_type=Density | DensitySpread)
]


class AxesSpread(StrictModel):
    """How a part's place varies along each axis; an axis left out is held."""

    x: LengthFigure | None = None
    y: LengthFigure | None = None
    z: LengthFigure | None = None


def _axes(value: Any) -> Any:
    if isinstance(value, dict) and {"x", "y", "z"} & value.keys():
        return value
    return dict.fromkeys("xyz", value)


AxesFigure = Annotated[
    AxesSpread, BeforeValidator(_axes, json_schema_input_type=Distance | LengthSpread | AxesSpread)
]


class CorrelationText(StrictModel):
    """Two quantities that vary together, in every weight."""

    between: Annotated[tuple[str, str], AsTuple]
    """the names of two, as samespin tolerance prints them: "mantle density", "diameter" …"""
    r: Annotated[float, Field(gt=-1, lt=1)]
    """their coefficient of correlation"""


class SpreadText(StrictModel):
    """What the shop knows of its spread; what is left out is held at its nominal value."""

    declared: Declared = "uniform"
    """how a declared ± is read: its ends ("uniform"), or that many standard deviations"""
    least_share: Annotated[float, Field(gt=0, le=1)] = LEAST
    """how tight a tolerance can be made where it has no least: this share of the present one"""
    density: dict[Name, DensityFigure] = Field(default_factory=dict)
    """by part; left out: the ± of its material, from batch to batch"""
    position: dict[Name, AxesFigure] = Field(default_factory=dict)
    """by part: how far it, and all inside it, is out of place, along each axis"""
    tilt: dict[Name, AngleFigure] = Field(default_factory=dict)
    """by part, degrees: how far it, and all inside it, leans, about x and about y"""
    dimensions: dict[Name, LengthFigure] = Field(default_factory=dict)
    """by named dimension: the mould's own"""
    diameter: LengthFigure | None = None
    """the diameter that the ball is turned to"""
    centre: AxesFigure | None = None
    """how far the ball's centre is turned off the core's, along each axis"""
    scale: MassFigure | None = None
    """how far the scale's reading of a ball's weight is off"""
    correlation: Annotated[tuple[CorrelationText, ...], AsTuple] = ()
    """quantities that vary together; all others are independent"""
