"""Figures in the scenario's own units, with the digits that count."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Final

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import Quantity
from optimizer.lineup.margins import outside
from optimizer.scenario.scenario import Scenario
from shared.rounding import fixed
from shared.units import INCH, OUNCE, POUND, UnitOf


@dataclass(frozen=True)
class Unit:
    """A unit on paper: its name, its size in ours, and the decimals of its figures."""

    name: str
    factor: float
    digits: int

    @classmethod
    def on_paper(cls, unit: UnitOf) -> Unit:
        """Return a unit for a report."""
        return cls(unit.printed, unit.size, unit.digits)

    def number(self, value: float, more: int = 0) -> str:
        """Return `value` (ours) as a number in this unit, with `more` digits than usual."""
        return fixed(value / self.factor, self.digits + more)

    def signed(self, value: float, more: int = 1) -> str:
        """Return the difference `value` with its sign, a digit finer than the figure itself."""
        number = self.number(value, more)
        return number if number.startswith("-") else f"+{number}"

    def told(self, value: float, more: int = 0) -> str:
        """Return `value` with the unit's name."""
        return f"{self.number(value, more)} {self.name}"

    def finer(self, digits: int) -> Unit:
        """Return this unit with so many `digits` more."""
        return replace(self, digits=self.digits + digits)

    def parting(self, a: float, b: float) -> Unit:
        """Return this unit with as many more digits as distinguish `a` from `b`, at most 9."""
        finer = (self.finer(k) for k in range(10))
        return next((unit for unit in finer if unit.number(a) != unit.number(b)), self)

    def exact(self, value: float) -> str:
        """Return `value` with the unit's name, with one more digit if it needs one."""
        plain = float(self.number(value)) * self.factor
        return self.told(value, 0 if abs(plain - value) < 1e-6 * self.factor else 1)


def decimals(step: float | None, density: Unit) -> int:
    """Return the decimals of a density in whole steps, or without a step the unit's own.

    >>> kilos = Unit("kg/m³", 0.001, 1)
    >>> decimals(0.01, kilos), decimals(0.0005, kilos), decimals(None, kilos)
    (0, 1, 1)
    """
    if step is None:
        return density.digits
    return len(f"{step / density.factor:.10f}".rstrip("0").partition(".")[2])


FIXED_UNITS: Final[dict[Quantity, tuple[str, float]]] = {
    "density": ("g/cm3", 1.0),
    "length": ("in", INCH),
    "rg": ("in", INCH),
    "mass": ("lb", POUND),
    "imbalance": ("oz", OUNCE),
    "ratio": ("", 1.0),
}
"""The units of JSON files, whatever the scenario's units are."""


@dataclass(frozen=True)
class Units:
    """The scenario's own units."""

    density: Unit
    length: Unit
    rg: Unit
    mass: Unit
    imbalance: Unit

    @classmethod
    def of(cls, scenario: Scenario) -> Units:
        """Return the units that `scenario` is written in."""
        text = scenario.text.units
        return cls(*(Unit.on_paper(text.by(quantity.name)) for quantity in fields(cls)))

    def by(self, quantity: Quantity) -> Unit:
        """Return the unit for a kind of figure."""
        unit: Unit = getattr(self, quantity)
        return unit

    def limit(self, margin: Margin) -> Unit:
        """Return the unit for a limit's figures: for an RG a digit finer, if its bound needs it.

        For a figure outside its limit, with enough digits to show that.
        """
        unit = self.by(margin.quantity)
        if margin.quantity == "rg" and unit.exact(margin.edge) != unit.told(margin.edge):
            unit = unit.finer(1)
        if not outside(margin):
            return unit
        return unit.parting(margin.value, margin.edge).parting(margin.slack, 0.0)
