"""The only reader of scenario files, its errors, and the way back to the text."""

from __future__ import annotations

from optimizer.scenario.maps import linear_maps
from optimizer.scenario.read import read_again, read_scenario, scenario
from optimizer.scenario.scenario import Scenario, WeightClass, Written

__all__ = [
    "Scenario",
    "WeightClass",
    "Written",
    "linear_maps",
    "read_again",
    "read_scenario",
    "scenario",
]
