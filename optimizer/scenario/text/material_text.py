"""Materials as they are written: a range of densities, or a recipe that gives one."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ConfigDict, Discriminator, Field, Tag

from optimizer.mixing.pourability import INTRINSIC, MOST_LOADING, MOST_VISCOSITY
from shared.models import AsTuple, Density, PourDensity, StrictModel

Name = Annotated[str, Field(min_length=1)]
_Names = Annotated[tuple[Name, ...], AsTuple]
_Two = Annotated[list[Name], Field(min_length=2, max_length=2)]
_Share = Annotated[float, Field(ge=0, le=1)]
_Fraction = Annotated[float, Field(ge=0, le=0.3)]


def _sharing(value: Any) -> str:
    return "word" if isinstance(value, str) else "groups"


_Group = Annotated[tuple[str, ...], AsTuple, Field(min_length=1)]
SameDensity = Annotated[
    Annotated[Literal["all", "none"], Tag("word")]
    | Annotated[tuple[_Group, ...], AsTuple, Tag("groups")],
    Discriminator(_sharing),
]
"""What weights share: "all", "none", or groups of their labels."""


def _pair(value: Any) -> Any:
    """Return a tuple for a list, and a range of no width for one value."""
    return tuple(value) if isinstance(value, list) else (value, value)


def _stocks(value: Any) -> Any:
    """Return a tuple of names for one name or a list."""
    return tuple(value) if isinstance(value, list) else (value,)


def _bounds(value: Any) -> Any:
    """Return bounds for one share."""
    return value if isinstance(value, dict) else {"min": value, "max": value}


class IngredientText(StrictModel):
    """A resin or filler of the shop's own; it overrides the shipped table's."""

    density: PourDensity
    """of the solid filler, or of the liquid resin mixed with its hardener"""
    price: Annotated[float, Field(ge=0)] | None = None
    """per kg, in any one currency"""


class ShareText(StrictModel):
    """The bounds of the share of a blend's first resin."""

    min: _Share
    max: _Share
    same: Literal["all", "none"] = "none"
    """"all": one share for the line, which solve searches; "none": each pour has its own"""


class RecipeText(StrictModel):
    """What a material is mixed from: a resin or two, fillers, and a limit on the fillers."""

    resin: Annotated[
        tuple[Name, ...],
        Field(min_length=1, max_length=2),
        BeforeValidator(_stocks, json_schema_input_type=Name | _Two),
    ]
    """a resin from [ingredients] or the shipped table, or a blend of two, ["…", "…"]"""
    share: (
        Annotated[ShareText, BeforeValidator(_bounds, json_schema_input_type=_Share | ShareText)]
        | None
    ) = None
    """of a blend: the first resin's part of the liquid's mass, or { min = …, max = … } of it"""
    heavy: _Names = ()
    """fillers that are denser than the cured resin"""
    light: _Names = ()
    """fillers that are lighter than the cured resin"""
    void: _Fraction = 0.0
    """fraction of the casting's volume that is voids; left out: none"""
    shrinkage: _Fraction = 0.0
    """fraction of its volume that the liquid resin loses when it cures; left out: none"""
    viscosity: Annotated[float, Field(gt=1, le=MOST_VISCOSITY)] | None = None
    """the thickest mix that pours, as a multiple of the resin's own viscosity"""
    loading: Annotated[float, Field(gt=0, le=MOST_LOADING)] | None = None
    """instead of viscosity: the greatest volume fraction of solids in the wet mix"""
    packing: Annotated[float, Field(gt=0, le=MOST_LOADING)] | None = None
    """volume fraction of solids at which nothing flows; left out beside a viscosity: 0.64"""
    intrinsic: Annotated[float, Field(ge=1, le=20)] = INTRINSIC
    """intrinsic viscosity of the solids: 2.5 for spheres, more for other grains"""

    @property
    def open(self) -> bool:
        """Whether a blend has one share for the line, still to be found."""
        share = self.share
        return share is not None and share.same == "all" and share.min < share.max


class MaterialText(StrictModel):
    """What can be poured, and how much it varies."""

    model_config = ConfigDict(
        json_schema_extra={"anyOf": [{"required": ["density"]}, {"required": ["recipe"]}]}
    )

    density: (
        Annotated[
            tuple[PourDensity, PourDensity],
            BeforeValidator(_pair, json_schema_input_type=PourDensity | list[PourDensity]),
        ]
        | None
    ) = None
    """[lowest, highest] that can be poured; a single number fixes it"""
    recipe: RecipeText | None = None
    """what it is mixed from, such as { resin = "polyester", heavy = ["barite"], loading = 0.45 }"""
    tolerance: Density | None = None
    """± from batch to batch"""
    step: Density | None = None
    """the shop can hold densities in whole steps; left out: any density"""
