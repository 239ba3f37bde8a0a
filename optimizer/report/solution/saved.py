"""A saved solution, read back. Nothing in it is trusted: everything is measured again.

Only the scenario's text, the densities and the target's free figures are taken from the file; all
other figures in it must agree with what is measured from these.
"""

from __future__ import annotations

import json
import math
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final, TypeGuard

from optimizer.linear.maps import LinearMap
from optimizer.lineup.pipeline import measured, shortfalls
from optimizer.lineup.result import LineupResult, Search, WeightResult
from optimizer.report.solution.data import FORMAT, NAME, ball_data
from optimizer.scenario import Scenario, linear_maps, read_again, scenario
from optimizer.scenario.attachments import unpacked
from optimizer.scenario.dimensions import Chosen
from optimizer.scenario.writing import fingerprint
from shared.arrays import Array, frozen
from shared.errors import InputError, Problem
from shared.units import INCH

CARRIED: Final = re.compile(
    rf'<script type="application/json" id="{NAME}">(.*?)</script>', re.DOTALL
)
"""Where a page holds its solution."""
AGREE: Final = 1e-6
"""Inches, pounds and so on: figures are saved to nine significant digits."""


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
    status = saved.get("status")
    if status not in ("feasible", "infeasible", "undecided"):
        raise _wrong(file, 'has no "status" that is known', repr(status))
    figures = _figures(saved, read, file)
    weights = tuple(_weights(saved, read, figures, file))
    if status == "feasible" and (missed := [miss for one in weights for miss in shortfalls(one)]):
        raise _wrong(file, "is called feasible, but " + "; ".join(missed))
    return LineupResult(
        scenario=read,
        status=status,
        figures=tuple(figures.tolist()),
        weights=weights,
        infeasible=None,
        search=_search(saved),
        warnings=read.warnings,
    )


def _search(saved: Mapping[str, Any]) -> Search:
    """Return what is saved of the search, which nothing is computed from."""
    told, made_by = (
        one if isinstance(one, dict) else {} for one in (saved.get("search"), saved.get("made_by"))
    )
    counts = {
        key: value if isinstance(value := told.get(key), int) else 0
        for key in ("starts", "programs", "moulds", "agreed")
    }
    return Search(bool(told.get("complete")), solver=str(made_by.get("solver", "")), **counts)


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
        raise _wrong(file, f"can't be read ({error.strerror or error})") from None
    except (ValueError, RecursionError) as error:
        if file.lower().endswith(".html"):
            raise _wrong(file, "carries no solution that can be read") from None
        raise _wrong(file, f"is not JSON ({error})") from None
    found = saved.get("format") if isinstance(saved, dict) else None
    if found != FORMAT:
        instead = f'it must say "format": "{FORMAT}", as solve -o FILE.json writes it'
        raise InputError([Problem("is no saved solution", instead=instead, file=file)])
    return dict(saved)


def _text(saved: Mapping[str, Any], file: str) -> tuple[str, dict[str, bytes]]:
    """Return the scenario's text and the files that it names, which must be those solved."""
    told = saved.get("scenario")
    text = told.get("text") if isinstance(told, dict) else None
    if not isinstance(told, dict) or not isinstance(text, str):
        raise _wrong(file, "holds no text of a scenario")
    try:
        content = tomllib.loads(text)
    except ValueError as error:
        raise _wrong(file, f"holds a scenario that is not TOML ({error})") from None
    try:
        files = unpacked(told.get("files"))
    except ValueError as error:
        raise _wrong(file, str(error)) from None
    if fingerprint(content, files) != told.get("sha256"):
        raise _wrong(file, "its scenario is not the one that was solved (sha256 differs)")
    return text, files


def _figures(saved: Mapping[str, Any], read: Scenario, file: str) -> Array:
    """Return the target's figures in cm; a given one must be what the scenario asks."""
    told, spans = saved.get("target"), read.target.spans if read.target else ()
    keys = ("rg_in", "differential_in", "intermediate_differential_in")
    figures = []
    for key, span in zip(keys, spans, strict=False):
        value = told.get(key) if isinstance(told, dict) else None
        if not _is_number(value):
            raise _wrong(file, f'target "{key}" is no number', repr(value))
        inside = min(max(value * INCH, span.low), span.high)
        if abs(inside / INCH - value) > AGREE:
            raise _wrong(file, f'target "{key}" is not what its scenario asks', str(value))
        figures.append(inside)
    return frozen(figures)


def _dimensions(saved: Mapping[str, Any], read: Scenario, file: str) -> Chosen:
    """Return the dimensions that were picked, each within what the scenario leaves open."""
    rows, unit = _rows(saved), read.reading.length
    chosen: dict[str, dict[str, float]] = {}
    spans = {one.name: (one.low / unit, one.high / unit) for one in read.free}
    racks = {one.name: one.values for one in read.rack}
    for label in (one.label for one in read.classes):
        told = rows.get(label, {}).get("dimensions")
        for name in (*spans, *racks):
            value = told.get(name) if isinstance(told, dict) else None
            if not _is_number(value):
                raise _wrong(file, f'weight "{label}": no dimension "{name}"', repr(value))
            low, high = spans.get(name, (value, value))
            if not low - AGREE <= value <= high + AGREE or value not in racks.get(name, (value,)):
                what = f'weight "{label}": dimension "{name}" is not one the scenario allows'
                raise _wrong(file, what, str(value))
            chosen.setdefault(name, {})[label] = float(value)
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
    for class_ in linear_maps(read):
        if class_.label not in told:
            raise _wrong(file, f'holds no weight "{class_.label}"')
        row = told[class_.label]
        ball = class_.ball(_densities(row, class_, file))
        _compare(row, ball_data(ball), class_.label, file)
        yield measured(ball, read, figures)


def _densities(row: Mapping[str, Any], class_: LinearMap, file: str) -> Array:
    told = row.get("densities_g_cm3")
    found = []
    for part in class_.parts:
        value = told.get(part.name) if isinstance(told, dict) else None
        if not _is_number(value) or value <= 0.0:
            what = f'weight "{class_.label}": no density of part "{part.name}"'
            raise _wrong(file, what, repr(value))
        found.append(float(value))
    return frozen(found)


def _compare(row: Mapping[str, Any], measured: Mapping[str, Any], label: str, file: str) -> None:
    """Raise InputError for a saved figure that isn't what its densities measure."""
    for key, value in measured.items():
        if key not in row:
            continue
        pairs = _pairs(row[key], value)
        if pairs is None or not all(
            _is_number(a) and abs(a - b) <= AGREE * max(1.0, abs(b)) for a, b in pairs
        ):
            what = f'weight "{label}": "{key}" is not what its densities measure'
            raise InputError(
                [Problem(what, str(row[key]), f"measured: {value}; solve again", file)]
            )


def _pairs(told: Any, measured: Any) -> list[tuple[Any, float]] | None:
    """Return the numbers to compare, or None where the two are not built alike."""
    if isinstance(measured, dict):
        if not isinstance(told, dict) or told.keys() != measured.keys():
            return None
        return [(told[key], measured[key]) for key in measured]
    if isinstance(measured, list):
        alike = isinstance(told, list) and len(told) == len(measured)
        return list(zip(told, measured, strict=True)) if alike else None
    return [(told, measured)]


def _is_number(value: Any) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _wrong(file: str, what: str, value: str | None = None) -> InputError:
    return InputError([Problem(what, value, "solve again", file)])
