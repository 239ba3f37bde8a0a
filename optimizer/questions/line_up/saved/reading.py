"""A saved solution, read back. Nothing in it is trusted: everything is measured again.

Only the scenario's text, the densities, the dimensions picked and the target's figures are taken
from the file. What is measured from these must be in the file, key by key, and alike. What can't be
measured is not read: how the line-up was sought, by what, why there is none, and keys not ours.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from optimizer.ball.sought import Dimension
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.columns import coupled
from optimizer.lineup.result import LineupResult, Search, Status, WeightResult
from optimizer.lineup.stating import measured, shortfalls
from optimizer.questions.line_up.data import FORMAT, NAME
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
from shared.arrays import Array, frozen
from shared.errors import InputError, Problem
from shared.units import INCH

CARRIED: Final = re.compile(
    rf'<script type="application/json" id="{NAME}">(.*?)</script>', re.DOTALL
)
"""Where a page holds its solution."""
STATUSES: Final[tuple[Status, ...]] = ("feasible", "within_tolerance", "infeasible", "undecided")
NOT_SOUGHT: Final = Search(complete=True, starts=0, programs=0, solver="")
"""Of a line-up that is read: what a file says of its search can't be measured, only repeated."""


def read_solution(path: str | Path) -> LineupResult:
    """Return the line-up that is saved in `path`, measured anew; why there is none isn't told.

    Raises InputError where the file can't be read, or says what isn't so.
    """
    file = str(path)
    saved = _object(path)
    text, files = _text(saved, file)
    read = scenario(text, file=f"{file} (its scenario)", files=files, target_required=True)
    if read.open:
        read = read_again(read.written, _dimensions(saved, read, file))
    figures = _figures(saved, read, file)
    status = _status(saved, file)
    weights = tuple(_weights(saved, read, figures, file))
    result = LineupResult(
        scenario=read,
        status=status,
        figures=tuple(figures.tolist()),
        weights=_roomed(weights, read) if status == "within_tolerance" else weights,
        infeasible=None,
        search=replace(NOT_SOUGHT, complete=_search(saved).get("complete") is not False),
        warnings=read.warnings,
        exact=_search(saved).get("exact") is True,
    )
    check_shared("density of part", _poured(result), read.sharing, file)
    check_status(result, file)
    check_measured(saved, result, file)
    return result


def _status(saved: Mapping[str, Any], file: str) -> Status:
    """Return the status that is saved, which must be one that there is."""
    for status in STATUSES:
        if status == saved.get("status"):
            return status
    raise wrong(file, 'has no "status" that is known', repr(saved.get("status")))


def _search(saved: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the file says of the search, where it says anything."""
    search = saved.get("search")
    return search if isinstance(search, dict) else {}


def _roomed(weights: Sequence[WeightResult], read: Scenario) -> tuple[WeightResult, ...]:
    """Return the balls with those within tolerance that are, or that share with one that is."""
    groups = coupled([weight.ball.map for weight in weights], read.sharing)
    within = {k for group in groups if any(shortfalls(weights[k]) for k in group) for k in group}
    return tuple(
        weight_result.roomed() if k in within else weight_result
        for k, weight_result in enumerate(weights)
    )


def _poured(result: LineupResult) -> dict[str, dict[str, float | None]]:
    """Return the densities of each part by the labels of the weights, None where it isn't."""
    return {
        part: {weight.label: weight.ball.density(part) for weight in result.weights}
        for part in result.scenario.sharing
    }


def _object(path: str | Path) -> dict[str, Any]:
    """Return the JSON object in the file, which must say that it is a solution.

    A page of a report carries its solution.
    """
    file = str(path)
    try:
        text = Path(path).read_bytes().decode("utf-8-sig")
        carried = CARRIED.search(text) if file.lower().endswith(".html") else None
        saved = json.loads(text if carried is None else carried[1])
    except OSError as error:
        raise wrong(file, f"can't be read ({error.strerror or error})") from None
    except (ValueError, RecursionError) as error:
        if file.lower().endswith(".html"):
            raise wrong(file, "carries no solution that can be read") from None
        raise wrong(file, f"is not JSON ({error})") from None
    found = saved.get("format") if isinstance(saved, dict) else None
    if found != FORMAT:
        instead = f'it must say "format": "{FORMAT}", as solve -o FILE.json writes it'
        raise InputError([Problem("is no saved solution", instead=instead, file=file)])
    return dict(saved)


def _text(saved: Mapping[str, Any], file: str) -> tuple[str, dict[str, bytes]]:
    """Return the scenario's text and the files that it names, as they were solved."""
    told = saved.get("scenario")
    text = told.get("text") if isinstance(told, dict) else None
    if not isinstance(told, dict) or not isinstance(text, str):
        raise wrong(file, "holds no text of a scenario")
    try:
        return text, unpacked(told.get("files"))
    except ValueError as error:
        raise wrong(file, str(error)) from None


def _figures(saved: Mapping[str, Any], read: Scenario, file: str) -> Array:
    """Return the target's figures in cm; a given one must be what the scenario asks."""
    told, spans = saved.get("target"), read.target.spans if read.target else ()
    keys = ("rg_in", "differential_in", "intermediate_differential_in")
    figures = []
    for key, span in zip(keys, spans, strict=False):
        value = told.get(key) if isinstance(told, dict) else None
        if not is_number(value):
            raise wrong(file, f'target "{key}" is no number', repr(value))
        inside = min(max(value * INCH, span.low), span.high)
        if abs(inside / INCH - value) > AGREE:
            raise wrong(file, f'target "{key}" is not what its scenario asks', str(value))
        figures.append(inside)
    return frozen(figures)


def _dimensions(saved: Mapping[str, Any], read: Scenario, file: str) -> Chosen:
    """Return the dimensions that were picked, each within what the scenario leaves open."""
    rows, unit = _rows(saved), read.reading.length
    chosen: dict[str, dict[str, float]] = {}
    open_: tuple[Dimension | Rack, ...] = (*read.free, *read.rack)
    for one in open_:
        for label in read.having(one.name):
            told = rows.get(label, {}).get("dimensions")
            value = told.get(one.name) if isinstance(told, dict) else None
            if not is_number(value):
                raise wrong(file, f'weight "{label}": no dimension "{one.name}"', repr(value))
            if isinstance(one, Rack):
                allowed = value in one.values
            else:
                allowed = one.low - AGREE <= value * unit <= one.high + AGREE
            if not allowed:
                what = f'weight "{label}": dimension "{one.name}" is not one the scenario allows'
                raise wrong(file, what, str(value))
            chosen.setdefault(one.name, {})[label] = float(value)
    check_shared("dimension", chosen, {one.name: one.groups for one in open_}, file)
    return chosen


def _rows(saved: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Return what is saved of each weight, by its label."""
    rows = saved.get("weights")
    return {
        str(row.get("label")): row
        for row in (rows if isinstance(rows, list) else ())
        if isinstance(row, dict)
    }


def _weights(
    saved: Mapping[str, Any], read: Scenario, figures: Array, file: str
) -> Iterator[WeightResult]:
    told = _rows(saved)
    for weight_class in linear_maps(read):
        if weight_class.label not in told:
            raise wrong(file, f'holds no weight "{weight_class.label}"')
        densities = _densities(told[weight_class.label], weight_class, file)
        yield measured(weight_class.ball(densities), figures)


def _densities(row: Mapping[str, Any], weight_class: LinearMap, file: str) -> Array:
    told = row.get("densities_g_cm3")
    found = []
    for pour in weight_class.pours:
        value = told.get(pour.part) if isinstance(told, dict) else None
        what = f'weight "{weight_class.label}": no density of part "{pour.part}"'
        if not is_number(value) or value <= 0.0:
            raise wrong(file, what, repr(value))
        if pour.fixed and abs(value - pour.low) > AGREE:
            raise wrong(file, f"{what} that the scenario allows", str(value))
        found.append(float(value))
    return frozen(found)
