"""Tolerances as large as what they belong to, or too small to be computed with."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from optimizer.ball.sought import Pour
from optimizer.scenario.checks.mistakes import Mistake
from optimizer.scenario.text.scenario_text import ScenarioText
from shared.models import Path
from shared.units import OUNCE

LEAST: Final = 1e-5
"""Of what it belongs to: the programs hold margins to a million tolerances."""

Declared = tuple[Path, float | None, float, str, str]
"""A tolerance's path, its value, the size of what it belongs to, that in words, its quantity."""


def odd_tolerances(text: ScenarioText, pours: Sequence[Pour], radius: float) -> Iterator[Mistake]:
    """Yield tolerances out of proportion, each once; `radius` is the ball's (cm).

    Of densities and targets they are less than these: else a batch, or a ball, may weigh nothing.
    """
    seen = set[Path]()
    declared = (*_of_densities(pours), *_of_targets(text, radius), *_of_limits(text, radius))
    for path, tolerance, size, of, quantity in declared:
        if tolerance is None or path in seen:
            continue
        if tolerance < LEAST * size:
            what = "is less than a hundred-thousandth of"
        elif tolerance >= size and path[0] != "limits":
            what = "is not less than"
        else:
            continue
        seen.add(path)
        unit = text.units.by(quantity)
        amount = f"{size / unit.size:.4g} {unit.name}"
        yield Mistake(path, f"{what} {of}, {amount}", "is it in the unit given in [units]?")


def _of_densities(pours: Sequence[Pour]) -> Iterator[Declared]:
    for pour in sorted(pours, key=lambda pour: pour.low):
        path = ("materials", pour.material, "tolerance")
        yield path, pour.tolerance, pour.low, "the lowest density", "density"


def _of_targets(text: ScenarioText, radius: float) -> Iterator[Declared]:
    for label, weight in text.weights.items():
        yield ("weights", label, "tolerance"), weight.tolerance, weight.target, "the weight", "mass"
    if text.target is not None:
        path, tolerance, low = ("target", "tolerance"), text.target.tolerance, text.target.rg.min
        lightest = min(weight.target for weight in text.weights.values())
        yield (*path, "weight"), tolerance.weight, lightest, "the lightest ball", "mass"
        for key in ("rg", "differential", "intermediate_differential"):
            yield (*path, key), getattr(tolerance, key), low, "the low RG", "rg"
        yield (*path, "cg_offset"), tolerance.cg_offset, radius, "the ball's radius", "length"


def _of_limits(text: ScenarioText, radius: float) -> Iterator[Declared]:
    for key, size, of, quantity in (
        ("wall", radius, "the ball's radius", "length"),
        ("pin_distance", radius, "the ball's radius", "length"),
        ("intermediate_differential", radius, "the ball's radius", "rg"),
        ("density_step", 1.0, "the density of water", "density"),
        ("top_weight", OUNCE, "an ounce", "imbalance"),
    ):
        tolerance = getattr(getattr(text.limits, key), "tolerance", None)
        if tolerance is not None and key == "top_weight":
            tolerance *= OUNCE
        yield ("limits", key, "tolerance"), tolerance, size, of, quantity
