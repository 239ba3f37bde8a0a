"""A printed line-up held against the oracle: every figure, every limit, every target."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

import numpy as np
from truth.line import INCH, OUNCE, POUND, Line, figures

Json = Mapping[str, Any]
NEAR: Final = 3e-8
"""Relative: nine digits are printed, and the oracle has about as many."""
STATED: Final = 1.5e-4
"""g/cm³: densities are stated to four decimals, so limits on them hold to that."""
KEPT: Final = 2e-9


def faults(line: Line, solution: Json) -> Iterator[str]:
    """Yield what is wrong with a line-up that is called feasible or within tolerance."""
    weights = {one["label"]: one for one in solution["weights"]}
    if list(weights) != list(line.weights):
        yield f"labels: {list(weights)} for {list(line.weights)}"
        return
    names = [part["name"] for part in line.parts]
    x = np.array([[one["densities_g_cm3"][name] for name in names] for one in weights.values()])
    got = figures(line, x)
    for number, (label, one) in enumerate(weights.items()):
        mine = {key: value[number] for key, value in got.items()}
        yield from (f"{label}: {fault}" for fault in _figures(line, one, mine, names))
        yield from (f"{label}: {fault}" for fault in _limits(line, x[number], mine))
        yield from (f"{label}: {fault}" for fault in _margins(one))
    yield from _targets(line, solution, got)
    for part in line.same:
        if np.ptp(x[:, part]) > 0:
            yield f"{names[part]}: one density in every weight, printed {x[:, part].tolist()}"


def _figures(line: Line, one: Json, mine: Json, names: list[str]) -> Iterator[str]:
    """Yield printed figures that the oracle doesn't find, and by how much they are off."""
    near = NEAR + 5 * line.error
    low, middle, high = mine["radii"] / INCH
    other = "centre" if line.about == "cg" else "cg"
    others = mine[f"radii_{other}"] / INCH
    radius = line.radius / INCH
    expected: dict[str, tuple[float, float]] = {  # and what it is small beside
        "mass_g": (mine["mass"], mine["mass"]),
        "weight_lb": (mine["mass"] / POUND, mine["mass"] / POUND),
        "rg_low_in": (low, low), "rg_intermediate_in": (middle, middle), "rg_high_in": (high, high),
        "differential_in": (high - low, low),
        "intermediate_differential_in": (high - middle, low),
        "cg_offset_in": (mine["cg_offset"] / INCH, radius),
        "top_weight_oz": (mine["top_weight"], mine["mass"] / OUNCE),
        "top_weight_along_pin_oz": (
            mine["cg"][2] * mine["mass"] / line.radius / OUNCE, mine["mass"] / OUNCE),
    }  # fmt: skip
    for key, value in zip(("low", "intermediate", "high"), others, strict=True):
        expected[f"rg_{key}_about_{other}_in"] = (value, value)
    expected[f"differential_about_{other}_in"] = (others[2] - others[0], low)
    for key, (value, size) in expected.items():
        if key not in one:
            yield f"{key} is not printed"
        elif key == "top_weight_along_pin_oz" and one[key] is None:
            yield f"{key} is null"
        elif abs(one[key] - value) > near * size:
            yield f"{key}: printed {one[key]}, the oracle finds {value:.10g}"
    if np.max(np.abs(np.array(one["cg_in"]) - mine["cg"] / INCH)) > near * radius:
        yield f"cg_in: printed {one['cg_in']}, the oracle finds {mine['cg'] / INCH}"
    sure = mine["cg_offset"] > 1e-4 * line.radius
    pin = mine["pin_distance"] / INCH
    if (
        sure
        and abs((one["pin_distance_in"] or 0.0) - pin)
        > near * radius * line.radius / mine["cg_offset"]
    ):
        yield f"pin_distance_in: printed {one['pin_distance_in']}, the oracle finds {pin:.10g}"
    for name, J in zip(names, line.moments, strict=True):
        whole = sum(abs(float(other[3, 3])) for other in line.moments)
        volume = one["volumes_cm3"][name]
        if abs(volume - J[3, 3]) > near * whole / (1 if line.error > 1e-7 else 100) + near * volume:
            yield f"volume of {name}: printed {volume}, the oracle finds {J[3, 3]:.10g}"


def _limits(line: Line, x: np.ndarray, mine: Json) -> Iterator[str]:
    """Yield limits of the text that a ball of the printed densities breaks."""
    for number, (density, (low, high)) in enumerate(zip(x, line.materials, strict=True)):
        slack = 1e-9 if low < high else STATED
        if not low - slack <= density <= high + slack:
            yield f"density of part {number}: {density} is outside {low} to {high}"
    near = 1e-6 + 50 * line.error
    for key, limit in line.limits.items():
        match key:
            case "top_weight":
                value, room = mine["top_weight"], near * 10
            case "pin_distance":
                value, room = mine["pin_distance"] / INCH, near * 100
            case "intermediate_differential":
                value, room = mine["intermediate_differential"] / INCH, near
            case "density_step":
                value = (
                    max(abs(x[i] - x[h]) for i, h in enumerate(line.hosts) if h is not None)
                    if len(x) > 1
                    else 0.0
                )
                room = 1e-6
            case _:
                continue
        if value > limit.get("max", np.inf) + room or value < limit.get("min", -np.inf) - room:
            yield f"{key}: {value:.9g} is outside {limit}"


def _margins(one: Json) -> Iterator[str]:
    """Yield margins that are negative, or whose slack isn't value less bound."""
    for margin in one["margins"]:
        value, bound, slack = margin["value"], margin["bound"], margin["slack"]
        if slack < -KEPT and not margin["rule_only"]:
            yield f"{margin['limit']} of {margin['of']} is broken by {-slack:.3g}"
        if value is None or bound is None:
            continue
        apart = abs(abs(value - bound) - abs(slack))
        error = abs(value - bound) if margin["limit"].startswith("wall") else 0.0  # it counts
        if apart > 1e-6 * (abs(value) + abs(bound) + 1e-9) + error:
            yield f"{margin['limit']}: slack {slack} between {value} and {bound}"


def _targets(line: Line, solution: Json, got: Mapping[str, np.ndarray]) -> Iterator[str]:
    """Yield targets that balls of the printed densities miss by more than the status allows."""
    exact = solution["status"] == "feasible"
    if line.exact and not exact:
        yield "within tolerance, though only the exact target is accepted"
    near = 1e-6 + 20 * line.error
    mass = np.array(list(line.weights.values()))
    free = STATED * np.abs(line.moments[:, 3, 3]).sum()  # what the densities' last digit weighs
    allowed = min(line.allowed["weight"], free) if exact else line.allowed["weight"] * (1 + 1e-9)
    off = np.abs(got["mass"] - mass)
    if np.any(off > allowed + near * mass):
        yield f"weight is off by {off.max():.4g} g, more than {allowed:.4g}"
    for key, (low, high) in line.target.items():
        asked = line.allowed[key]
        allowed = min(asked, 5e-3 * INCH) if exact else asked * (1 + 1e-9)
        value = got[key]
        room = near * INCH * 3
        beyond = max(float(np.max(value)) - high, low - float(np.min(value)))
        shared = float(np.ptp(value)) - (0 if low == high else 2 * allowed)
        if beyond > allowed + room:
            most = f"{beyond / INCH:.4g}, more than {allowed / INCH:.4g}"
            yield f"{key}: {value / INCH} in is off by {most}"
        if low < high and shared > room:
            yield f"{key}: {value / INCH} in is not one for the line"
