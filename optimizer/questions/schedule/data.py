"""A schedule as data: the object that `schedule --json` prints, "samespin/schedule@1"."""

from __future__ import annotations

from typing import Any, Final

from optimizer import version
from optimizer.questions.line_up.data import deviation_data, number, scenario_data
from optimizer.questions.line_up.warnings import all_warnings
from optimizer.questions.schedule.half_cast import half_cast_data
from optimizer.questions.schedule.pouring.casting import Casting
from optimizer.questions.schedule.pouring.cautions import cautions
from optimizer.questions.schedule.pouring.schedule import ClassSchedule, Schedule
from optimizer.questions.schedule.pouring.worksheet import Six, Worksheet
from optimizer.questions.schedule.proof import SIX

FORMAT: Final = "samespin/schedule@1"


def schedule_data(schedule: Schedule, date: str | None = None) -> dict[str, Any]:
    """Return a schedule as JSON types, figures as printed, units fixed by each key's name."""
    words, shop, scenario = cautions(), schedule.shop.text, schedule.scenario
    mixed = [weight.mixed for weight in schedule.classes]
    return {
        "format": FORMAT,
        "scenario": scenario_data(scenario),
        "made_by": {"samespin": version()},
        "document": {
            "owner": shop.owner,
            "number": shop.document,
            "status": shop.status,
            "date": date,
        },
        "about": scenario.about,
        "balls": schedule.balls,
        "scale_g": shop.scale,
        "weights": [
            {**_class(weight), "half_cast": half_cast_data(weight, schedule)}
            for weight in schedule.classes
        ],
        "warnings": list(all_warnings(scenario, mixed)),
        "cautions": [words.always, words.advice, *words.cautions],
    }


def _class(weight: ClassSchedule) -> dict[str, Any]:
    return {
        **_sheet(weight.sheet),
        "mass_g": number(weight.mass),
        "reads_in_air_g": float(weight.in_air),
        "off_target": deviation_data(weight.mixed),
        "castings": [_casting(casting) for casting in weight.castings],
    }


def _casting(casting: Casting) -> dict[str, Any]:
    batch, mix, diameter = casting.batch, casting.batch.mix, casting.diameter
    return {
        "part": casting.part.name,
        "batches": batch.count,
        "balls_per_batch": batch.balls,
        "batch_g": float(batch.grams),
        "needed_g": number(float(batch.needed)),
        "spare_g": number(float(batch.spare)),
        "weigh_out": [
            {
                "ingredient": line.ingredient,
                "mass_g": float(line.grams),
                "within_g": float(line.within),
                "with_hardener": k == 0,
                "parts_by_weight": None if line.parts is None else float(line.parts),
            }
            for k, line in enumerate(batch.lines)
        ],
        "density_g_cm3": number(batch.density),
        "theoretical_density_g_cm3": None if mix is None else number(mix.theoretical),
        "liquid_density_g_cm3": number(batch.wet),
        "solids_by_volume": None if mix is None else number(mix.solids),
        "relative_viscosity": None if mix is None or not mix.viscosity else number(mix.viscosity),
        "in_the_mould_g": number(casting.within),
        "cast_g": number(casting.cast),
        "poured_g": number(casting.poured),
        "liquid_cm3": number(casting.wet_volume),
        "trimmed_g": number(casting.poured - casting.cast),
        "turned_off_g": number(casting.machined),
        "cast_diameter_cm": None if diameter is None else number(diameter),
        "mould_scale": None if casting.growth is None else number(casting.growth),
        "held": [
            {
                "part": held.part,
                "mean_density_g_cm3": number(held.density),
                "force_up_N": number(held.lift),
            }
            for held in casting.held
        ],
    }


def _sheet(sheet: Worksheet) -> dict[str, Any]:
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
                "parallel_axis_about_centre_g_cm2": six(region.parallel(sheet.point("centre"))),
                "parallel_axis_about_cg_g_cm2": six(region.parallel(sheet.point("cg"))),
            }
            for region in sheet.regions
        ],
        "about_centre": about("centre"),
        "about_cg": about("cg"),
    }
