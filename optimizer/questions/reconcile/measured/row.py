"""One row of a file of measurements: a reading, or what is wrong with it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimizer.questions.reconcile.measured.measurements import (
    KINDS,
    UNITS,
    Kind,
    Measurement,
    reading,
)
from optimizer.scenario import Scenario
from optimizer.scenario.drawn import ball_radius
from optimizer.scenario.scenario import ClassDrawing
from shared.errors import InputError, Problem
from shared.models import suggestion

SHORT: Final = 8
"""The fewest digits of a scenario's SHA-256 that tell it from others."""
FAR: Final = 2.0
"""A weight so many times its class's, or as small a part of it, is a mistake; so is an RG that is
as small a part of a uniform ball's."""


@dataclass(frozen=True)
class MeasuredRow:
    """A row of the file, its cells by column; `own` is the SHA-256 of its scenario."""

    path: Path
    line: int
    cells: Mapping[str, str]
    scenario: Scenario
    own: str

    @property
    def measurement(self) -> Measurement:
        """The reading. Raises InputError."""
        self._same_scenario()
        ball, drawing, kind = self._ball(), self._drawing(), self._kind()
        of = self._of(kind, drawing)
        value, unit = self._number("value"), self._unit(kind)
        self._possible(kind, value * unit, drawing)
        sd = reading(self.scenario, kind.gauge).sd
        if self.cells.get("repeatability"):
            sd = self._number("repeatability") * unit
            if sd <= 0.0:
                raise self._wrong("repeatability", "is no standard deviation", "more than 0")
        written = f"{self.cells['value']} {self.cells['unit']}"
        batch = self.cells.get("batch") or None
        return Measurement(
            self.line, ball, drawing.label, kind, of, value * unit, sd, written, batch
        )

    def _same_scenario(self) -> None:
        told = self.cells.get("scenario", "").lower()
        if told and not (len(told) >= SHORT and self.own.startswith(told)):
            instead = f"this one's SHA-256 is {self.own}"
            raise self._wrong("scenario", "was measured for another scenario", instead)

    def _ball(self) -> str:
        if not self.cells["ball"]:
            raise self._wrong("ball", "is left out", "give each ball a number or a name")
        return self.cells["ball"]

    def _drawing(self) -> ClassDrawing:
        labels = {drawing.label: drawing for drawing in self.scenario.classes}
        label = self.cells["label"]
        if label not in labels:
            raise self._wrong("label", "is not a weight of this line", suggestion(label, labels))
        return labels[label]

    def _kind(self) -> Kind:
        name = " ".join(self.cells["measurement"].lower().replace("_", " ").split())
        if name not in KINDS:
            raise self._wrong("measurement", "is not known", suggestion(name, KINDS))
        if name.startswith("period") and not (
            self.scenario.text.gauges and self.scenario.text.gauges.pendulum
        ):
            instead = "give its constants in the scenario: [gauges] pendulum"
            raise self._wrong("measurement", "needs a torsion pendulum", instead)
        return KINDS[name]

    def _of(self, kind: Kind, drawing: ClassDrawing) -> str | None:
        of, parts = self.cells["of"], [part.name for part in drawing.parts]
        if kind.name != "casting":
            if of not in ("", "ball"):
                raise self._wrong("of", f"is for castings, and this is a {kind.name}", "leave it")
            return None
        if of not in parts:
            what = f"is not a part of the {drawing.label}"
            raise self._wrong("of", what, suggestion(of, parts))
        return of

    def _unit(self, kind: Kind) -> float:
        units, unit = UNITS[kind.quantity], self.cells["unit"]
        if unit not in units:
            what = f"is not a unit of a {kind.name}" if unit else f"is left out of a {kind.name}"
            raise self._wrong("unit", what, f"use {' or '.join(units)}")
        return units[unit]

    def _number(self, column: str) -> float:
        text = self.cells[column]
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            comma = "," in text and "write a decimal point: " + text.replace(",", ".")
            raise self._wrong(column, "is not a number", comma or "such as 15.12")
        return value

    def _possible(self, kind: Kind, value: float, drawing: ClassDrawing) -> None:
        """Refuse what no ball of this drawing can have."""
        low, high, why = 0.0, math.inf, "no ball has that"
        radius = ball_radius(drawing.parts)
        if kind.name == "weight":
            low, high = drawing.mass / FAR, drawing.mass * FAR
            why = f"is it in {self.cells['unit']}?"
        elif kind.quantity == "rg":
            high, why = radius, f"is it in {self.cells['unit']}?"
            if kind.gauge == "rg":
                low = math.sqrt(0.4) * radius / FAR
        elif kind.name == "diameter":
            low, high = 1.8 * radius, 2.2 * radius
            why = f"the drawing's is {2.0 * radius / UNITS['length'][self.cells['unit']]:.6g}"
        elif kind.name == "top weight":
            high, why = drawing.mass, f"is it in {self.cells['unit']}?"
        elif kind.name == "casting":
            high, why = FAR * drawing.mass, f"is it in {self.cells['unit']}?"
        zero = kind.name in ("top weight", "differential", "intermediate differential")
        if not (low <= value <= high and (zero or value > 0.0)):
            raise self._wrong("value", f"can't be the {kind.name} of the {drawing.label}", why)

    def _wrong(self, column: str, what: str, instead: str) -> InputError:
        told = f"{column} {what}"
        value = f'"{self.cells.get(column, "")}"' if self.cells.get(column) else None
        return InputError([Problem(told, value, instead, str(self.path), self.line)])
