"""A live panel: change the densities of one weight by hand, and see the ball that results.

The page measures the ball itself, from each region's moments; it solves nothing.
"""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from importlib.resources import files
from typing import Any, Final

import numpy as np

from optimizer.ball.bounds import Bound, Margin
from optimizer.ball.figures import DENSITY, DIAMETER, WALL, Figure
from optimizer.ball.sought import Pour
from optimizer.ball.weight_class import Ball, LinearMap
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.paper.axes import TILTED
from optimizer.paper.document import Live
from optimizer.paper.quantities import Units
from optimizer.paper.words import POINT, listed, subject
from optimizer.questions.line_up.frame import titled
from optimizer.questions.line_up.page import class_names
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.source.toml_text import toml_key, toml_value
from shared.letters import safe
from shared.models import POURABLE
from shared.tolerances import ARITHMETIC, AXIS_GAP, DENSITY_STEP

NAME: Final = "trial"
SCRIPTS: Final = ("ball.js", "trial.js")
WITHOUT: Final = (
    "With scripts enabled, this is a panel to try the densities of one weight; this program runs "
    "none."
)
STILL: Final[tuple[Figure, ...]] = (DIAMETER, WALL)
"""Figures of the mould, which no density changes."""
UPPER: Final = np.triu_indices(4)
"""The ten moments of a region: xx, xy, xz, x, yy, yz, y, zz, z, 1."""


def trial(result: LineupResult) -> Live:
    """Return the panel for a line-up, which starts with the line-up's own densities."""
    sources = [(files(__package__) / name).read_text(encoding="utf-8") for name in SCRIPTS]
    script = "\n".join(('(() => {\n"use strict";', *sources, "})();"))
    return Live(NAME, script, _data(result), WITHOUT)


def _data(result: LineupResult) -> dict[str, Any]:
    """Return what the script measures with: cm, g, g/cm³, rad; and units and words to print."""
    scenario, names = result.scenario, class_names(result)
    units = Units.of(scenario)
    start = "solved densities" if result.accepted else "nearest densities found"
    return {
        "panel": NAME,
        "scenario": safe(titled(scenario)),
        "start": start,
        "check": "samespin check FILE.toml",
        "about": scenario.about,
        "point": POINT[scenario.about],
        "units": asdict(units),
        "pourable": POURABLE,
        "axis_gap": AXIS_GAP,
        "tilted": float(TILTED),
        "rounding": DENSITY_STEP / 2,
        "arithmetic": ARITHMETIC,
        "parts": [_part(pour, scenario, units) for pour in scenario.pours],
        "weights": [_weight(weight, scenario, names) for weight in result.weights],
    }


def _part(pour: Pour, scenario: Scenario, units: Units) -> dict[str, Any]:
    """Return a part's name, its range, and how the scenario would write a trial density."""
    material = f"{pour.part} trial"
    while material in scenario.text.materials:
        material += " trial"
    spread = "" if pour.tolerance is None else f"{pour.tolerance / units.density.factor:.12g}"
    return {
        "name": safe(pour.part),
        "material": pour.material,
        "low": pour.low,
        "high": pour.high,
        "step": pour.step or DENSITY_STEP,
        "trial": toml_value(material),
        "spread": spread,
        "option": safe(shlex.quote(f"{pour.part}=")),
    }


def _weight(weight: WeightResult, scenario: Scenario, names: Mapping[str, str]) -> dict[str, Any]:
    """Return one weight; `parts` are places in the list of all, in the order of `densities`."""
    ball, linear_map, units = weight.ball, weight.ball.map, Units.of(scenario)
    return {
        "name": names[weight.label],
        "parts": [
            [pour.part for pour in scenario.pours].index(part.name) for part in linear_map.parts
        ],
        "radius": linear_map.radius,
        "arm": linear_map.arm,
        "moments": [region[UPPER].tolist() for region in linear_map.moments],
        "densities": ball.densities.tolist(),
        "alike": [_alike(pour, linear_map, scenario, names) for pour in linear_map.pours],
        "targets": [
            {
                "figure": deviation.figure.key,
                "asked": deviation.asked,
                "tolerance": deviation.tolerance,
            }
            for deviation in weight.deviations
        ],
        "limits": [_limit(b, ball, units) for b in linear_map.bounds if b.side != "both"],
        "dimensions": [
            f"{toml_key(name)} = {by_label[weight.label]!r}"
            for name, by_label in scenario.chosen.items()
            if weight.label in by_label
        ],
    }


def _alike(pour: Pour, linear_map: LinearMap, scenario: Scenario, names: Mapping[str, str]) -> str:
    """Return in words which other weights share the density of this part."""
    groups: Sequence[Sequence[str]] = scenario.sharing.get(pour.part, ())
    group = next((group for group in groups if linear_map.label in group), ())
    others = [names[label] for label in group if label != linear_map.label]
    return f"poured alike in {listed(others)}" if others else ""


def _limit(bound: Bound, ball: Ball, units: Units) -> dict[str, Any]:
    """Return a limit: its bound, its figure, and the figure's value where no density changes it.

    `parts` are the places of the parts that a density or a step is of.
    """
    parts = (bound.of,) if isinstance(bound.of, str) else bound.of or ()
    shown = Margin(bound, ball.map.label, bound.value, 0.0)
    data: dict[str, Any] = {
        "about": f"{bound.of}, density"
        if bound.figure == DENSITY and bound.rule is None
        else subject(shown),
        "side": "least" if bound.side == "min" else "most",
        "bound": bound.value,
        "unit": asdict(units.limit(shown)),
        "tolerance": bound.tolerance,
        "rule": not bound.binds,
        "note": bound.note,
        "figure": bound.figure.key,
        "parts": [ball.map.places[part] for part in parts],
    }
    if bound.figure not in STILL:
        return data
    value, _, error, _ = min(bound.figure.measured(ball, bound.of), key=lambda figure: figure.value)
    return data | {"value": value, "slack": min(value - bound.low, bound.high - value) - error}
