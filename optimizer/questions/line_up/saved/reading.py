"""A saved solution, read back. Nothing in it is trusted: everything is measured again.

Only the scenario's text, the densities, the dimensions picked and the target's figures are taken
from the file. What is measured from these must agree with the file, key by key. What can't be
measured is ignored: how the line-up was sought, the solver, why there is none, and unknown keys.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from optimizer.ball.sought import Dimension
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.columns import coupled
from optimizer.lineup.result import LineupResult, Search, Status, WeightResult
from optimizer.lineup.stating import measured, shortfalls
from optimizer.questions.line_up.data import FORMAT, NAME, figure_key
from optimizer.questions.line_up.saved.agreement import (
    AGREE,
    check_measured,
    check_shared,
    check_status,
    is_number,
    wrong,
)
from optimizer.scenario import Scenario, linear_maps, read_again, scenario
from optimizer.scenario.dimensions import Chosen
from optimizer.scenario.scenario import Rack
from optimizer.scenario.source.attachments import unpacked
from optimizer.scenario.source.files import text_of
from shared import remembered
from shared.arrays import Array, frozen
from shared.errors import InputError, Problem
from shared.units import INCH
from shared.untrusted import MB

OPENS: Final = f'<script type="application/json" id="{NAME}">'
CLOSES: Final = "</script>"
"""Around the solution in a page."""
MOST: Final = 50 * MB
"""The most bytes of a solution or page: with two blocks of as many triangles as can be read."""
VALUES: Final = 500_000
"""The most values in a solution, as counted by the marks of JSON's structure outside..."""
STRUCTURE: Final = ",:[{"
"""...and inside of texts."""
STATUSES: Final[tuple[Status, ...]] = ("feasible", "within_tolerance", "infeasible", "undecided")
NOT_SOUGHT: Final = Search(complete=True, starts=0, programs=0, solver="")
"""The search of a line-up that is read: it can't be measured."""


@remembered.active()
def read_solution(path: str | Path) -> LineupResult:
    """Return the line-up saved in `path`, measured anew, without reasons if it is none.

    Raises InputError where the file can't be read, or contradicts what is measured.
    """
    file = str(path)
    saved = _object(path)
    text, files = _text(saved, file)
    read = scenario(text, file=f"{file} (its scenario)", files=files, target_required=True)
    if read.open:
        read = read_again(read.written, dimensions(saved, read, file))
    figures, search = _figures(saved, read, file), _table(saved, "search")
    status = _status(saved, file)
    weights = tuple(_weights(saved, read, figures, file))
    result = LineupResult(
        scenario=read,
        status=status,
        figures=tuple(figures.tolist()),
        weights=_roomed(weights, read) if status == "within_tolerance" else weights,
        infeasible=None,
        search=replace(NOT_SOUGHT, complete=search.get("complete") is not False),
        warnings=read.warnings,
        exact=search.get("exact") is True,
    )
    check_shared("density of part", _poured(result), read.sharing, file)
    check_status(result, file)
    check_measured(saved, result, file)
    return result


def _status(saved: Mapping[str, Any], file: str) -> Status:
    """Return the saved status. Raises InputError for an unknown one."""
    for status in STATUSES:
        if status == saved.get("status"):
            return status
    raise wrong(file, 'has no "status" that is known', repr(saved.get("status")))


def _table(saved: Mapping[str, Any], key: str) -> dict[str, Any]:
    """Return the object saved under a key, empty where there is none."""
    table = saved.get(key)
    return table if isinstance(table, dict) else {}


def _roomed(weights: Sequence[WeightResult], read: Scenario) -> tuple[WeightResult, ...]:
    """Return the balls; where one in a coupled group is off target, all there are within it."""
    groups = coupled([weight.ball.map for weight in weights], read.sharing)
    within = {k for group in groups if any(shortfalls(weights[k]) for k in group) for k in group}
    return tuple(weight.roomed() if k in within else weight for k, weight in enumerate(weights))


def _poured(result: LineupResult) -> dict[str, dict[str, float | None]]:
    """Return each part's densities by weight label, None in a weight without the part."""
    return {
        part: {weight.label: weight.ball.density(part) for weight in result.weights}
        for part in result.scenario.sharing
    }


def _object(path: str | Path) -> dict[str, Any]:
    """Return the solution's JSON object in the file, which may be a report's page."""
    file = str(path)
    page = file.lower().endswith(".html")
    text = text_of(path, MOST)
    carried = text.partition(OPENS)[2].partition(CLOSES)[0] if page else text
    if sum(map(carried.count, STRUCTURE)) > VALUES:
        raise wrong(file, f"holds more than {VALUES} values")
    try:
        saved = json.loads(carried)
    except (ValueError, RecursionError) as error:
        what = "carries no solution that can be read" if page else f"is not JSON ({error})"
        raise wrong(file, what) from None
    if not isinstance(saved, dict) or saved.get("format") != FORMAT:
        instead = f'it must say "format": "{FORMAT}", as solve -o FILE.json writes it'
        raise InputError([Problem("is no saved solution", instead=instead, file=file)])
    return dict(saved)


def _text(saved: Mapping[str, Any], file: str) -> tuple[str, dict[str, bytes]]:
    """Return the scenario's text and the files that it names, as solved."""
    own = _table(saved, "scenario")
    text = own.get("text")
    if not isinstance(text, str):
        raise wrong(file, "holds no text of a scenario")
    try:
        return text, unpacked(own.get("files"))
    except ValueError as error:
        raise wrong(file, str(error)) from None


def _figures(saved: Mapping[str, Any], read: Scenario, file: str) -> Array:
    """Return the target's figures in cm, which must be what the scenario asks for."""
    target, figures = _table(saved, "target"), []
    for figure, span in read.target.items():
        key = figure_key(figure)
        value = target.get(key)
        if not is_number(value):
            raise wrong(file, f'target "{key}" is no number', repr(value))
        inside = min(max(value * INCH, span.low), span.high)
        if abs(inside / INCH - value) > AGREE:
            raise wrong(file, f'target "{key}" is not what its scenario asks', str(value))
        figures.append(inside)
    return frozen(figures)


def dimensions(saved: Mapping[str, Any], read: Scenario, file: str) -> Chosen:
    """Return the dimensions that were picked, each one that the scenario allows."""
    rows, unit = _rows(saved), read.reading.length
    chosen: dict[str, dict[str, float]] = {}
    open_: tuple[Dimension | Rack, ...] = (*read.free, *read.rack)
    for choice in open_:
        name = choice.name
        for label in read.having(name):
            value = _table(rows.get(label, {}), "dimensions").get(name)
            if not is_number(value):
                raise wrong(file, f'weight "{label}": no dimension "{name}"', repr(value))
            if isinstance(choice, Rack):
                allowed = value in choice.values
            else:
                allowed = choice.low - AGREE <= value * unit <= choice.high + AGREE
            if not allowed:
                what = f'weight "{label}": dimension "{name}" is not one the scenario allows'
                raise wrong(file, what, str(value))
            chosen.setdefault(name, {})[label] = float(value)
    check_shared("dimension", chosen, {choice.name: choice.groups for choice in open_}, file)
    return chosen


def _rows(saved: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Return the saved object of each weight, by its label."""
    rows = saved.get("weights")
    return {
        str(row.get("label")): row
        for row in (rows if isinstance(rows, list) else ())
        if isinstance(row, dict)
    }


def _weights(
    saved: Mapping[str, Any], read: Scenario, figures: Array, file: str
) -> Iterator[WeightResult]:
    rows = _rows(saved)
    for linear_map in linear_maps(read):
        if linear_map.label not in rows:
            raise wrong(file, f'holds no weight "{linear_map.label}"')
        densities = _densities(rows[linear_map.label], linear_map, file)
        yield measured(linear_map.ball(densities), figures)


def _densities(row: Mapping[str, Any], linear_map: LinearMap, file: str) -> Array:
    by_part, densities = _table(row, "densities_g_cm3"), []
    for pour in linear_map.pours:
        value = by_part.get(pour.part)
        what = f'weight "{linear_map.label}": no density of part "{pour.part}"'
        if not is_number(value) or value <= 0.0:
            raise wrong(file, what, repr(value))
        if pour.fixed and abs(value - pour.low) > AGREE:
            raise wrong(file, f"{what} that the scenario allows", str(value))
        densities.append(float(value))
    return frozen(densities)
