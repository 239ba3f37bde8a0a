"""The cases of a scenario's file: each is read as if the file were written so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from optimizer.scenario import Scenario, read_scenario
from shared import what_if
from shared.errors import InputError, Problem


def check_cases(scenario: Scenario, densities: Mapping[str, float]) -> None:
    """Read every case of the file, unless this is one. Raises InputError with what is wrong."""
    asked, wrong = what_if.asked(), list[Problem]()
    for case in () if scenario.text.what_if else scenario.text.cases:
        with what_if.within(replace(asked, case=case)):
            try:
                read_scenario(scenario.file, target_required=False, densities=densities)
            except InputError as error:
                wrong += (
                    replace(each, what=f"case {case}: {each.what}") for each in error.problems
                )
    if wrong:
        raise InputError(dict.fromkeys(wrong))
