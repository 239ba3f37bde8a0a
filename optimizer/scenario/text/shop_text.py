"""The table [foundry]: the shop that pours the line, and its title block."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from shared.models import Length, StrictModel

Grams = Annotated[float, Field(gt=0, le=1e5)]
Share = Annotated[float, Field(ge=0, le=0.5)]


class FineScaleText(StrictModel):
    """A second scale for small amounts, in g."""

    readability: Grams
    """g: one step of its display"""
    up_to: Grams
    """g: the most it is used for"""


class FoundryText(StrictModel):
    """The shop: its scales and mixer, its losses, and who is responsible for the sheet."""

    owner: str | None = None
    """legal owner of the document; left out: a blank to fill in"""
    document: str | None = None
    """document number; left out: a blank to fill in"""
    status: Literal["draft", "released"] = "draft"
    """whether the sheet may be poured from"""
    scale: Grams | None = None
    """g: one step of the scale's display; left out: masses to 0.01 g"""
    fine_scale: FineScaleText | None = None
    """a finer scale for small amounts, such as { readability = 0.1, up_to = 200 }, in g"""
    mixer: Annotated[float, Field(gt=0, le=1000)] | None = None
    """litres of liquid that one batch may hold"""
    waste: Share = 0.0
    """share of a batch that stays in the mixer and is thrown away"""
    overpour: Share = 0.0
    """share of a casting that is poured in excess and trimmed off"""
    cast: dict[str, Length] = Field(default_factory=dict)
    """diameter of a sphere as cast, before it is turned down, such as { cover = 8.75 }"""
    hold_down: Annotated[float, Field(gt=0, le=1e4)] | None = None
    """N: the greatest force, up or down, that the fixture holding a core in the liquid can take"""
