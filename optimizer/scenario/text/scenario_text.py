"""The scenario file as it is written: one model for each table, quantities in cm and g once read.

A short form (a number for a table, one density for a range) becomes the long one before it is
checked, so that there is only one form inside. The docstring under a key describes it in the schema
and in errors.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ConfigDict, Discriminator, Field, Tag, WithJsonSchema

from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes import AnyShape
from geometry.solids.joined import Joined, Solid
from optimizer.ball.limits import LimitsText
from optimizer.scenario.goals import Sense
from optimizer.scenario.text.gauge_text import GaugesText
from optimizer.scenario.text.material_text import IngredientText, MaterialText, Name, SameDensity
from optimizer.scenario.text.shop_text import FoundryText
from optimizer.scenario.text.spread_text import SpreadText
from optimizer.scenario.text.target_text import TargetText, WeightFigure
from shared.models import Angle, AsTuple, Coordinate, Factor, Length, StrictModel
from shared.units import (
    DENSITIES,
    IMBALANCE,
    WEIGHTS,
    DensityName,
    LengthName,
    UnitOf,
    WeightName,
    of_length,
)


class UnitsText(StrictModel):
    """The table [units]: no unit has a default."""

    length: LengthName
    """the unit of every length"""
    weight: WeightName
    """the unit of every weight"""
    density: DensityName
    """the unit of every density"""
    rg: LengthName
    """the unit of every radius of gyration and differential"""

    def by(self, quantity: str) -> UnitOf:
        """Return the unit of a kind of figure: density, length, rg, mass or imbalance."""
        return {
            "density": DENSITIES[self.density],
            "length": of_length(self.length),
            "rg": of_length(self.rg, radius=True),
            "mass": WEIGHTS[self.weight],
            "imbalance": IMBALANCE,
        }[quantity]


Hosts = Annotated[
    tuple[Name, ...],
    BeforeValidator(lambda value: (value,) if isinstance(value, str) else value),
    AsTuple,
    Field(min_length=1),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string"},
                {"type": "array", "items": {"type": "string"}, "minItems": 1},
            ]
        }
    ),
]
"""The parts that a part lies in, from the outside in; a single one needs no brackets."""


class PartText(StrictModel):
    """A part as drawn: the program subtracts the parts inside it."""

    model_config = ConfigDict(
        json_schema_extra={"oneOf": [{"required": ["shape"]}, {"required": ["shapes"]}]}
    )

    name: Name
    """the part's own name"""
    inside: Hosts | None = None
    """the part that surrounds it directly; only the ball itself has none. For a part set into
    several, such as a plug, all of them, from the outside in: ["cover", "mantle"]"""
    shape: AnyShape | None = None
    """kind and dimensions, such as { kind = "sphere", diameter = 8.5 }"""
    shapes: Annotated[tuple[Solid, ...], AsTuple, Field(min_length=1)] | None = None
    """instead of shape: solids that are joined, such as [{ kind = …, at = [0, 0, 1] }, …]"""
    minus: Annotated[tuple[Solid, ...], AsTuple] = ()
    """solids that are cut from the joined ones; the host fills what is cut away"""
    material: Name
    """a name from [materials]"""
    at: Annotated[tuple[Coordinate, Coordinate, Coordinate], AsTuple] = (0.0, 0.0, 0.0)
    """[x, y, z] of the shape's origin from the ball's centre, z toward the pin"""
    rotate: Annotated[tuple[Angle, Angle, Angle], AsTuple] = (0.0, 0.0, 0.0)
    """degrees about the fixed x, then y, then z axis"""
    stretch: Annotated[tuple[Factor, Factor, Factor], AsTuple] = (1.0, 1.0, 1.0)
    """factors along the shape's own axes, before it is rotated"""
    same_density: SameDensity = "none"
    """one density in every weight ("all"), each its own ("none"), or groups of weight labels"""
    only_in: (
        Annotated[tuple[str, ...], AsTuple, Field(json_schema_extra={"minItems": 1})] | None
    ) = None
    """labels of the weights that it is in, such as ["13", "12"]; left out: those of its host"""

    @property
    def part(self) -> Part:
        """The part as drawn."""
        shape = self.shape or Joined(shapes=self.shapes or (), minus=self.minus)
        inside, *through = self.inside or (None,)
        placement = Placement(self.at, self.rotate, self.stretch)
        return Part(self.name, inside, shape, placement, through=tuple(filter(None, through)))


class FreeDimension(StrictModel):
    """A dimension for the solver to pick between two values."""

    min: float
    """the least value that is tried"""
    max: float
    """the greatest value that is tried"""
    start: float | None = None
    """where the search starts; left out: the middle"""
    goal: Sense | None = None
    """seek the "most" or the "least" of it; left out: what leaves the most room"""
    same: SameDensity = "all"
    """one value in every weight ("all"), each its own ("none"), or groups of weight labels"""


class RackDimension(StrictModel):
    """A dimension for the solver to pick from the moulds on the rack."""

    one_of: Annotated[tuple[float, ...], AsTuple, Field(min_length=1)]
    """the values there are moulds for"""
    same: SameDensity = "all"
    """one value in every weight ("all"), each its own ("none"), or groups of weight labels"""


class EachDimension(StrictModel):
    """A dimension with a value for each weight."""

    each: dict[str, float]
    """a value for each weight label"""


def _form(value: Any) -> str:
    if not isinstance(value, dict):
        return "value"
    return next((form for form in ("each", "one_of") if form in value), "free")


DimensionText = Annotated[
    Annotated[float, Tag("value")]
    | Annotated[FreeDimension, Tag("free")]
    | Annotated[RackDimension, Tag("one_of")]
    | Annotated[EachDimension, Tag("each")],
    Discriminator(_form),
]


class GoalText(StrictModel):
    """What a number that is sought has to leave."""

    keep: Annotated[float, Field(ge=0, le=1000)] = 0.0
    """the room that every limit is to keep, in tolerances; left out: 0"""
    least: Literal["cost"] | None = None
    """seek the line-up whose ingredients cost least, by their prices"""


class ExpectedText(StrictModel):
    """The result that a test or a reader should find; never densities."""

    status: Literal["feasible", "within_tolerance", "infeasible"]
    """whether densities exist that meet every target and limit, exactly or within tolerance"""


class WhatIfText(StrictModel):
    """What the file's text was changed by, as --case and --set write it for every title."""

    case: Name | None = None
    """the name of the case that was written into the text"""
    set: Annotated[tuple[Name, ...], AsTuple] = ()
    """the keys that --set has given a value"""


class ScenarioText(StrictModel):
    """A scenario: the shapes and materials of a line of balls, and what it aims at."""

    name: Name
    """what the line is called"""
    revision: Name
    """the drawing's revision"""
    units: UnitsText
    """length, weight, density and rg, stated once"""
    target: TargetText | None = None
    """RG and differential that every weight must have"""
    weights: Annotated[dict[Name, WeightFigure], Field(min_length=1)]
    """label on the carton = weight to hit, such as 15 = 15.12"""
    ingredients: dict[Name, IngredientText] = Field(default_factory=dict)
    """the shop's own resins and fillers, for recipes; others come from the shipped table"""
    materials: dict[Name, MaterialText]
    """a table for each material, such as [materials.shell]"""
    parts: Annotated[tuple[PartText, ...], AsTuple, Field(min_length=1)]
    """a [[parts]] table for each part, the ball itself among them"""
    limits: LimitsText = LimitsText()
    """limits that a line-up must meet"""
    dimensions: dict[Name, DimensionText] = Field(default_factory=dict)
    """named lengths that parts may use instead of numbers"""
    goal: GoalText | None = None
    """the room to keep where a number is sought, such as differential = { …, goal = "most" }"""
    foundry: FoundryText | None = None
    """the shop that pours it: scales, mixer, losses, title block"""
    spread: SpreadText | None = None
    """what the shop knows of how much its quantities vary, for samespin tolerance"""
    gauges: GaugesText | None = None
    """what balls are measured with, and how well it repeats, for samespin reconcile"""
    expected: ExpectedText | None = None
    """the result that a test or a reader should find"""
    balance_arm: Length | None = None
    """effective arm of the balance for top weight; left out: the ball's radius"""
    cases: dict[Name, dict[str, Any]] = Field(default_factory=dict)
    """a family in one file: under the name of each case the keys that differ in it"""
    what_if: WhatIfText | None = None
    """written by --case and --set: what was changed"""
