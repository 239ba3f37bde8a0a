"""Checks that a saved solution agrees with its scenario, densities and dimensions."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, TypeGuard

from optimizer.lineup.result import LineupResult
from optimizer.lineup.stating import fixed_and_broken, shortfalls
from optimizer.questions.line_up.data import identity, measured_data
from shared.errors import InputError, Problem

AGREE: Final = 1e-6
"""Inches, pounds and so on: figures are saved to nine significant digits."""
LATER: Final = frozenset({"cg_offset_in", "what_if"})
"""Keys that solutions saved by earlier versions lack."""
ABSENT: Final = "not there"
"""The value, in an error, of a key that one side lacks."""


def check_measured(saved: Mapping[str, Any], result: LineupResult, file: str) -> None:
    """Refuse a saved object that lacks a measured value, or has another one.

    Other keys at the top are ignored.
    """
    measured, scenario = measured_data(result), saved["scenario"]
    measured["scenario"] = {**scenario, **identity(result.scenario)}
    if files := scenario.get("files"):  # their content is checked where they are unpacked
        measured["scenario"]["files"] = {name: files[name] for name in result.scenario.files}
    read = {key: saved.get(key, ABSENT) for key in measured}
    for place, value, right in _differences(read, measured, ""):
        what = f"{place} does not follow from its scenario and densities"
        instead = f"measured: {_brief(right)}; solve again"
        raise InputError([Problem(what, _brief(value), instead, file)])


def check_shared(
    what: str,
    values: Mapping[str, Mapping[str, float | None]],
    groups: Mapping[str, Sequence[Sequence[str]]],
    file: str,
) -> None:
    """Refuse different `values`, by name and weight label, in `groups` that share one."""
    for name, by_label in values.items():
        for group in groups[name]:
            shared = {label: by_label[label] for label in group if label in by_label}
            if len(set(shared.values())) > 1:
                each = ", ".join(f"{label}: {value}" for label, value in shared.items())
                raise wrong(file, f'{what} "{name}" differs between weights that share it', each)


def check_status(result: LineupResult, file: str) -> None:
    """Refuse a status that the balls contradict."""
    weights, status = result.weights, result.status
    missed = [miss for weight in weights for miss in shortfalls(weight)]
    broken = [margin for weight in weights for margin in fixed_and_broken(weight.margins)]
    missed += [f"{margin.bound} is broken" for margin in broken]
    exact = not missed and not any(weight.within for weight in weights)
    if result.accepted and missed:
        raise wrong(file, f"is called {status}, but {'; '.join(missed)}")
    if status != "feasible" and exact:
        raise wrong(file, f"is called {status}, but its densities meet every target and limit")


def _differences(read: Any, right: Any, place: str) -> Iterator[tuple[str, Any, Any]]:
    """Yield where a value that was read isn't the right one: its place, and both."""
    if isinstance(right, dict) and isinstance(read, dict):
        for key in {**right, **read}:
            if key in LATER and key not in read:
                continue
            there = f"{place}.{key}" if place else key
            yield from _differences(read.get(key, ABSENT), right.get(key, ABSENT), there)
    elif isinstance(right, list) and isinstance(read, list) and len(read) == len(right):
        for i, pair in enumerate(zip(read, right, strict=True)):
            label = pair[1].get("label", i) if isinstance(pair[1], dict) else i
            yield from _differences(*pair, f"{place}[{label}]")
    elif not _agree(read, right):
        yield place, read, right


def _agree(read: Any, right: Any) -> bool:
    """Whether two figures are the same to AGREE; texts, booleans and null must be equal."""
    if is_number(read) and is_number(right):
        return abs(read - right) <= AGREE * max(1.0, abs(right))
    return type(read) is type(right) and bool(read == right)


def _brief(value: Any) -> str:
    if isinstance(value, list | dict):
        return f"{len(value)} entries"
    return ABSENT if value == ABSENT else json.dumps(value, ensure_ascii=False)


def is_number(value: Any) -> TypeGuard[float]:
    """Whether a value from JSON is a number that can be computed with."""
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    return plain and abs(value) <= sys.float_info.max


def wrong(file: str, what: str, value: str | None = None) -> InputError:
    """Return the error for a saved solution that can't be used."""
    return InputError([Problem(what, value, "solve again", file)])
