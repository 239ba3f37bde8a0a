"""A schedule as data: the object that `schedule --json` prints, "samespin/schedule@1"."""

from __future__ import annotations

from typing import Any, Final

from optimizer import version
from optimizer.foundry.cautions import cautions
from optimizer.foundry.worksheet import CENTRE, Six, Worksheet, worksheet
from optimizer.lineup.result import LineupResult
from optimizer.report.proof import SIX
from optimizer.report.solution import scenario_data
from optimizer.report.warnings_ import result_warnings

FORMAT: Final = "samespin/schedule@1"


def schedule_data(result: LineupResult) -> dict[str, Any]:
    """Return a schedule as JSON types, every figure as printed, units fixed by each key's name."""
    told = cautions()
    return {
        "format": FORMAT,
        "scenario": scenario_data(result.scenario),
        "made_by": {"samespin": version()},
        "about": result.scenario.about,
        "weights": [_data(worksheet(weight.ball)) for weight in result.weights],
        "warnings": list(result_warnings(result)),
        "cautions": [told.always, told.advice, *told.cautions],
    }


def _data(sheet: Worksheet) -> dict[str, Any]:
    axes = 3 if sheet.aligned else 6

    def six(values: Six) -> dict[str, float]:
        return {SIX[k]: float(values[k]) for k in range(axes)}

    def about(point: str) -> dict[str, Any]:
        radii = sheet.about(point)
        low, intermediate, high = (float(radius) for radius in radii.inches)
        return {
            "inertia_g_cm2": six(radii.sums),
            "rg_low_in": low,
            "rg_intermediate_in": intermediate,
            "rg_high_in": high,
            "differential_in": float(radii.differential),
            "intermediate_differential_in": float(radii.intermediate_differential),
        }

    return {
        "label": sheet.label,
        "mass_g": float(sheet.mass),
        "class_mass_g": float(sheet.asked),
        "cg_cm": [float(c) for c in sheet.cg],
        "pours": [
            {
                "part": region.part,
                "material": region.pour.material,
                "volume_cm3": float(region.volume),
                "density_g_cm3": float(region.density),
                "tolerance_g_cm3": region.pour.tolerance,
                "mass_g": float(region.mass),
                "mass_oz": float(region.ounces),
                "running_g": float(region.running),
                "cg_cm": [float(c) for c in region.cg],
                "own_inertia_g_cm2": six(region.own),
                "parallel_axis_about_centre_g_cm2": six(region.parallel(CENTRE)),
                "parallel_axis_about_cg_g_cm2": six(region.parallel(sheet.cg)),
            }
            for region in sheet.regions
        ],
        "about_centre": about("centre"),
        "about_cg": about("cg"),
    }
