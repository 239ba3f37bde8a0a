"""Reads a file of measurements, CSV or XLSX: a row for each reading."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Final

from optimizer.questions.line_up.data import identity
from optimizer.questions.reconcile.measured.measurements import Measurement
from optimizer.questions.reconcile.measured.row import MeasuredRow
from optimizer.questions.schedule.sheet_back.reading import Row, read_sheet, refused
from optimizer.scenario import Scenario
from shared.errors import InputError, Problem
from shared.models import suggestion
from shared.units import LENGTHS

NEEDED: Final = ("ball", "label", "measurement", "of", "value", "unit")
COLUMNS: Final = (*NEEDED, "repeatability", "batch", "scenario")
"""The columns of a file, in any order; the last three may be left out."""
MOST: Final = 5000
"""Rows of a file."""


@dataclass(frozen=True)
class Measured:
    """The readings of a file, the `parts` of each weight, and what is to be told."""

    path: Path
    each: tuple[Measurement, ...]
    parts: Mapping[str, tuple[str, ...]]
    told: tuple[str, ...] = ()

    @cached_property
    def balls(self) -> Mapping[str, tuple[Measurement, ...]]:
        """The readings of each ball, in the order of the file."""
        balls: dict[str, list[Measurement]] = {}
        for one in self.each:
            balls.setdefault(one.ball, []).append(one)
        return {name: tuple(own) for name, own in balls.items()}

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
            each.append(MeasuredRow(path, line, row, scenario, own).measurement)
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
        length, radius = LENGTHS[text.length].words, LENGTHS[text.rg].words
        apart = "" if length == radius else f", its RGs in {radius}"
        what = f"Figures in {', '.join(sorted(units))} are converted"
        yield f"{what}: the scenario is written in {length}{apart}."
