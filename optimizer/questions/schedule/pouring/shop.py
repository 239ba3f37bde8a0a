"""The shop that pours a line, as its scenario describes it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from optimizer.questions.schedule.pouring.scales import Scales
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.text.shop_text import FoundryText
from shared.errors import Problem


@dataclass(frozen=True, eq=False)
class Shop:
    """A scenario's [foundry]; without one, a shop without losses that weighs to 0.01 g."""

    scenario: Scenario

    @cached_property
    def text(self) -> FoundryText:
        """The scenario's text on it."""
        return self.scenario.text.foundry or FoundryText()

    @cached_property
    def scales(self) -> Scales:
        """Its scales."""
        return Scales.of(self.text)

    @property
    def room(self) -> float | None:
        """What its mixer holds, cm³ of liquid; None where no mixer is given."""
        return None if self.text.mixer is None else 1000.0 * self.text.mixer

    def wrong(self, key: str, what: str, instead: str) -> Problem:
        """Return what is wrong with a key of [foundry], with its place in the file."""
        value = getattr(self.text, key)
        text = None if value is None else f"{value:g}"
        return self.scenario.problem(("foundry", key), f"foundry {key}: {what}", instead, text)
