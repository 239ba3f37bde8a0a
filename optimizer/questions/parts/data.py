"""The finding as data: the object that `parts --json` prints, "samespin/parts@1".

Figures have fifteen digits, so that whoever adds them up finds the ball's.
"""

from __future__ import annotations

from typing import Any, Final

from optimizer import version
from optimizer.ball.figures import DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL, LOW_RG, WEIGHT
from optimizer.lineup.result import LineupResult
from optimizer.questions.line_up.data import given, identity
from optimizer.questions.line_up.warnings import result_warnings
from optimizer.questions.parts.finding import MORE, Made, ends, made
from shared.arrays import Array
from shared.units import INCH, POUND

FORMAT: Final = "samespin/parts@1"
RADII: Final = ("low", "intermediate", "high")
MOVED: Final = {
    "weight_lb": (WEIGHT, POUND),
    "rg_low_in": (LOW_RG, INCH),
    "differential_in": (DIFFERENTIAL, INCH),
    "intermediate_differential_in": (INTERMEDIATE_DIFFERENTIAL, INCH),
}
"""The figures that more of a part moves, each with its unit."""


def parts_data(result: LineupResult) -> dict[str, Any]:
    """Return the finding as JSON types."""
    every = made(result)
    pair = ends(every)
    return {
        "format": FORMAT,
        "scenario": identity(result.scenario),
        "made_by": {"samespin": version()},
        "status": result.status,
        "about": result.scenario.about,
        "more_density_g_cm3": MORE,
        "weights": [_weight(label, each) for label, each in every.items()],
        "line": None if pair is None else _line(*pair),
        "warnings": list(result_warnings(result)),
    }


def _weight(label: str, each: Made) -> dict[str, Any]:
    ball = each.ball
    moved = {key: each.moves(figure) / factor for key, (figure, factor) in MOVED.items()}
    return {
        "label": label,
        "weight_lb": given(ball.properties.mass / POUND),
        **{
            f"rg_{word}_in": given(radius / INCH)
            for word, radius in zip(RADII, ball.radii.radii.tolist(), strict=True)
        },
        "differential_in": given(ball.radii.differential / INCH),
        "intermediate_differential_in": given(ball.radii.intermediate_differential / INCH),
        "axes_stand": each.axes_stand,
        "parts": [
            {
                "name": pour.part,
                "density_g_cm3": float(ball.densities[i]),
                **{key: given(float(values[i])) for key, values in _added(each).items()},
                "more": {key: given(float(values[i])) for key, values in moved.items()},
            }
            for i, pour in enumerate(ball.map.pours)
        ],
    }


def _added(each: Made) -> dict[str, Array]:
    """Return what the parts (n,) add to each figure, by its key."""
    return {
        "weight_lb": each.masses / POUND,
        "weight_share": each.mass_shares,
        **{
            f"rg_{word}_squared_share": shares
            for word, shares in zip(RADII, each.square_shares, strict=True)
        },
        "differential_in": each.differential() / INCH,
        "intermediate_differential_in": each.differential(1) / INCH,
    }


def _line(heavy: Made, light: Made) -> dict[str, Any]:
    """Return by how much each part's figures change; a weight without the part counts as 0."""
    before, after = (
        {part.name: i for i, part in enumerate(m.ball.map.parts)} for m in (heavy, light)
    )
    added = _added(heavy), _added(light)
    return {
        "from": heavy.ball.map.label,
        "to": light.ball.map.label,
        "parts": [
            {"name": part}
            | {
                key: given(
                    _of(added[1][key], after.get(part)) - _of(added[0][key], before.get(part))
                )
                for key in added[0]
            }
            for part in before | after
        ],
    }


def _of(values: Array, place: int | None) -> float:
    return 0.0 if place is None else float(values[place])
