"""Whether a solution that was read says what its scenario, densities and dimensions come to."""

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
ABSENT: Final = "not there"
"""Stands in an error for the value of a key that is missing, or that nothing measured has."""


def check_measured(saved: Mapping[str, Any], result: LineupResult, file: str) -> None:
    """Refuse a saved object that lacks what is measured, or says something else.

    A key beside these at the top says nothing that is read.
    """
    anew = measured_data(result)
    scenario = saved["scenario"]
    anew["scenario"] = {**scenario, **identity(result.scenario)}
    if files := scenario.get("files"):  # what they hold is checked where they are unpacked
        anew["scenario"]["files"] = {name: files[name] for name in result.scenario.files}
    told = {key: saved.get(key, ABSENT) for key in anew}
    for place, value, measure in _differences(told, anew, ""):
        what = f"{place} does not follow from its scenario and densities"
        instead = f"measured: {_brief(measure)}; solve again"
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
            some = {label: by_label[label] for label in group if label in by_label}
            if len(set(some.values())) > 1:
                told = ", ".join(f"{label}: {value}" for label, value in some.items())
                raise wrong(file, f'{what} "{name}" differs between weights that share it', told)


def check_status(result: LineupResult, file: str) -> None:
    """Refuse a status that the balls don't bear out, as far as balls can."""
    weights, status = result.weights, result.status
    missed = [miss for weight_result in weights for miss in shortfalls(weight_result)]
    missed += [
        f"{m.bound} is broken"
        for weight_result in weights
        for m in fixed_and_broken(weight_result.margins)
    ]
    exact = not missed and not any(weight_result.within for weight_result in weights)
    if result.accepted and missed:
        raise wrong(file, f"is called {status}, but {'; '.join(missed)}")
    if status != "feasible" and exact:
        raise wrong(file, f"is called {status}, but its densities meet every target and limit")


def _differences(told: Any, anew: Any, place: str) -> Iterator[tuple[str, Any, Any]]:
    """Yield where what is told isn't what is measured `anew`: its place, and both."""
    if isinstance(anew, dict) and isinstance(told, dict):
        for key in {**anew, **told}:
            there = f"{place}.{key}" if place else key
            yield from _differences(told.get(key, ABSENT), anew.get(key, ABSENT), there)
    elif isinstance(anew, list) and isinstance(told, list) and len(told) == len(anew):
        for i, (one, other) in enumerate(zip(told, anew, strict=True)):
            label = other["label"] if isinstance(other, dict) and "label" in other else i
            yield from _differences(one, other, f"{place}[{label}]")
    elif not _agree(told, anew):
        yield place, told, anew


def _agree(told: Any, anew: Any) -> bool:
    """Whether a figure is the one that is measured; others are text, yes, no, or none."""
    if is_number(told) and is_number(anew):
        return abs(told - anew) <= AGREE * max(1.0, abs(anew))
    return type(told) is type(anew) and bool(told == anew)


def _brief(value: Any) -> str:
    if isinstance(value, list | dict):
        return f"{len(value)} entries"
    return ABSENT if value == ABSENT else json.dumps(value, ensure_ascii=False)


def is_number(value: Any) -> TypeGuard[float]:
    """Whether a value from JSON is a number that can be computed with."""
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    return plain and abs(value) <= sys.float_info.max


def wrong(file: str, what: str, value: str | None = None) -> InputError:
    """Return what to say of a saved solution that can't be taken."""
    return InputError([Problem(what, value, "solve again", file)])
