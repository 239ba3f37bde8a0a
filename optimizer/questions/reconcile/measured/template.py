"""The file to be filled in: a row for each reading of one ball of each weight."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.nesting import casting_order
from optimizer.paper.document import Report, Table, left
from optimizer.questions.line_up.data import identity
from optimizer.questions.reconcile.measured.file import COLUMNS
from optimizer.questions.reconcile.measured.measurements import KINDS, UNITS, Kind, usual
from optimizer.scenario import Scenario
from optimizer.scenario.scenario import ClassDrawing

FORMAT = "samespin/measurements@1"


def template(scenario: Scenario) -> Report:
    """Return the rows to be filled in for a scenario: what isn't measured is left empty."""
    rows = tuple(
        row
        for number, drawing in enumerate(scenario.classes, start=1)
        for row in _rows(scenario, drawing, str(number))
    )
    table = Table(tuple(left(name) for name in COLUMNS), rows)
    data = {
        "format": FORMAT,
        "scenario": identity(scenario),
        "rows": [dict(zip(COLUMNS, row, strict=True)) for row in rows],
    }
    return Report((table,), data)


def _rows(scenario: Scenario, drawing: ClassDrawing, ball: str) -> Iterator[tuple[str, ...]]:
    digest = identity(scenario)["sha256"]
    for kind in KINDS.values():
        if not usual(scenario, kind):
            continue
        castings = [part.name for part in casting_order(drawing.parts)]
        for of in castings if kind.name == "casting" else [""]:
            unit = _unit(scenario, kind)
            yield ball, drawing.label, kind.name, of, "", unit, "", "", digest


def _unit(scenario: Scenario, kind: Kind) -> str:
    """Return the unit of a kind of reading: castings in g, all else as the scenario has it."""
    units = scenario.text.units
    own = {"rg": units.rg, "length": units.length, "imbalance": "oz", "period": "s"}
    if kind.quantity == "mass":
        return "g" if kind.name == "casting" else units.weight
    unit = own[kind.quantity]
    return unit if unit in UNITS[kind.quantity] else next(iter(UNITS[kind.quantity]))
