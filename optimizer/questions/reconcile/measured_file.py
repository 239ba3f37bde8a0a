"""Reads a file of measurements, CSV or XLSX: a row for each reading."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimizer.questions.line_up.data import identity
from optimizer.questions.reconcile.measurements import KINDS, UNITS, Kind, Measurement, reading
from optimizer.questions.schedule.sheet_back.reading import Row, read_sheet, refused
from optimizer.scenario import Scenario
from optimizer.scenario.drawn import ball_radius
from optimizer.scenario.scenario import ClassDrawing
from shared.errors import InputError, Problem
from shared.models import suggestion

NEEDED: Final = ("ball", "label", "measurement", "of", "value", "unit")
COLUMNS: Final = (*NEEDED, "repeatability", "batch", "scenario")
"""The columns of a file, in any order; the last three may be left out."""
SHORT: Final = 8
"""The fewest digits of a scenario's SHA-256 that tell it from others."""
MOST: Final = 5000
"""Rows of a file."""
FAR: Final = 2.0
"""A weight so many times its class's, or as small a part of it, is a mistake."""


@dataclass(frozen=True)
class Measured:
    """The readings of a file, the `parts` of each weight, and what is to be told."""

    path: Path
    each: tuple[Measurement, ...]
    parts: Mapping[str, tuple[str, ...]]
    told: tuple[str, ...] = ()

    @property
    def balls(self) -> dict[str, tuple[Measurement, ...]]:
        """The readings of each ball, in the order of the file."""
        names = dict.fromkeys(one.ball for one in self.each)
        return {name: tuple(one for one in self.each if one.ball == name) for name in names}

    def batches(self, ball: str) -> dict[str, str]:
        """Return the batch that each part of a ball was poured from, where the file says so.

        On a casting's row it is that part's; on another, that of all other parts.
        """
        of = [one for one in self.balls[ball] if one.batch is not None]
        whole = {one.batch for one in of if one.of is None}
        parts = {} if not whole else dict.fromkeys(self.parts[of[0].label], str(whole.pop()))
        return parts | {str(one.of): str(one.batch) for one in of if one.of is not None}


def read_measured(path: Path, scenario: Scenario) -> Measured:
    """Return the readings of a file; a row without a value is one not made.

    Raises InputError, a problem for each mistake, with its line.
    """
    header, rows = _table(path)
    problems, each = list[Problem](), list[Measurement]()
    own = identity(scenario)["sha256"]
    for line, cells in rows:
        row = dict(zip(header, cells, strict=True))
        if not row["value"]:
            continue
        try:
            each.append(_Row(path, line, row, scenario, own).measurement)
        except InputError as error:
            problems += error.problems
    problems += _contradictions(each, path)
    if problems:
        raise InputError(sorted(problems, key=lambda problem: problem.line or 0))
    if not each:
        raise refused(path, "has no value", "fill in the column value")
    parts = {d.label: tuple(part.name for part in d.parts) for d in scenario.classes}
    return Measured(path, tuple(each), parts, tuple(_other_units(each, scenario)))


def _contradictions(each: Sequence[Measurement], path: Path) -> Iterator[Problem]:
    """Yield balls with two labels, and parts poured from two batches."""
    labels, batches = dict[str, Measurement](), dict[tuple[str, str | None], Measurement]()
    for one in each:
        first = labels.setdefault(one.ball, one)
        if first.label != one.label:
            what = f'label: ball "{one.ball}" is a "{first.label}" in line {first.line}'
            yield Problem(what, f'"{one.label}"', "a ball has one", str(path), one.line)
        if one.batch is not None:
            first = batches.setdefault((one.ball, one.of), one)
            if first.batch != one.batch:
                what = f'batch: line {first.line} says "{first.batch}" of the same'
                yield Problem(what, f'"{one.batch}"', "keep one", str(path), one.line)


def _table(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Return the names of the columns, and the rows below with their lines."""
    sheet = read_sheet(path, blank=True)
    readings = [_found(rows) for rows in sheet.readings]
    found = next(filter(None, readings), None)
    if found is None:
        first = next((row for rows in sheet.readings[:1] for row in rows if row), None)
        what = "is empty" if first is None else "has no row of column names"
        instead = f"begin with a row {','.join(NEEDED)}; samespin reconcile X --template writes one"
        raise refused(path, what, instead)
    at, rows = found
    header = [name.lower() for name in rows[at]]
    problems = list(_wrong_columns(header, path, at + 1))
    below = []
    for k, cells in enumerate(rows[at + 1 :], start=at + 2):
        if len(cells) > len(header):
            what = f"has {len(cells)} cells under {len(header)} columns"
            instead = "is there a decimal comma? Write 15.12, or part the cells by semicolons"
            problems.append(Problem(what, instead=instead, file=str(path), line=k))
        elif cells:
            below.append((k, [*cells, *[""] * (len(header) - len(cells))]))
    if problems:
        raise InputError(problems)
    if len(below) > MOST:
        raise refused(path, f"has {len(below)} rows", f"at most {MOST} can be reconciled at once")
    return header, below


def _found(rows: Sequence[Row]) -> tuple[int, Sequence[Row]] | None:
    """Return the number of the row of column names, with all rows; None where there is none."""
    for at, row in enumerate(rows):
        names = {name.lower() for name in row}
        if len(names & set(NEEDED)) > 1:
            return at, rows
    return None


def _wrong_columns(header: Sequence[str], path: Path, line: int) -> Iterator[Problem]:
    for name in header:
        if name not in COLUMNS:
            what = "is not a column of measurements"
            yield Problem(what, f'"{name}"', suggestion(name, COLUMNS), str(path), line)
        elif header.count(name) > 1:
            yield Problem("is a column twice", f'"{name}"', "keep one", str(path), line)
            return
    if missing := [name for name in NEEDED if name not in header]:
        what = f"there is no column {', '.join(missing)}"
        yield Problem(
            what, instead=f"the columns are {','.join(COLUMNS)}", file=str(path), line=line
        )


@dataclass(frozen=True)
class _Row:
    """A row of the file being read."""

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
        elif kind.name == "diameter":
            low, high = 1.8 * radius, 2.2 * radius
            why = f"the drawing's is {2.0 * radius / UNITS['length'][self.cells['unit']]:.6g}"
        elif kind.name == "casting":
            high, why = FAR * drawing.mass, f"is it in {self.cells['unit']}?"
        zero = kind.name in ("top weight", "differential", "intermediate differential")
        if not (low <= value <= high and (zero or value > 0.0)):
            raise self._wrong("value", f"can't be the {kind.name} of the {drawing.label}", why)

    def _wrong(self, column: str, what: str, instead: str) -> InputError:
        told = f"{column} {what}"
        value = f'"{self.cells.get(column, "")}"' if self.cells.get(column) else None
        return InputError([Problem(told, value, instead, str(self.path), self.line)])


def _other_units(each: Sequence[Measurement], scenario: Scenario) -> Iterator[str]:
    """Yield a line where figures are in other units than the scenario's."""
    text = scenario.text.units
    own = {"rg": text.rg, "length": text.length}
    metric = {"g", "kg", "mm", "cm", "m"}
    units = {
        one.written.split()[-1]
        for one in each
        if one.kind.quantity in own
        and (one.written.split()[-1] in metric) != (own[one.kind.quantity] in metric)
    }
    if units:
        yield (
            f"Figures in {', '.join(sorted(units))} are converted: the scenario is written in "
            f"{text.length} and, for RG, in {text.rg}."
        )
