"""The finding as data: the object that `tolerance --json` prints, "samespin/tolerance@1"."""

from __future__ import annotations

from collections.abc import Mapping
from math import isnan
from typing import Any, Final

from optimizer import version
from optimizer.paper.quantities import FIXED_UNITS, Units
from optimizer.questions.line_up.data import identity, number
from optimizer.questions.line_up.warnings import result_warnings
from optimizer.questions.tolerance.capable import capabilities
from optimizer.questions.tolerance.finding import LineSpread
from optimizer.questions.tolerance.gathered import WeightSpread
from optimizer.questions.tolerance.words import disagreement
from optimizer.scatter.good import Band
from optimizer.scatter.inputs import RADIAN, Input
from optimizer.spread.simulation import Moments, Share
from shared.units import INCH

FORMAT: Final = "samespin/tolerance@1"
UNITS: Final = {
    "weight": FIXED_UNITS["mass"],
    "top weight": FIXED_UNITS["imbalance"],
    "axis tilt": ("deg", RADIAN),
}
"""The unit of a figure's numbers; others are in inches."""
INPUTS: Final = {
    "density": FIXED_UNITS["density"],
    "batch": FIXED_UNITS["density"],
    "tilt": ("deg", RADIAN),
    "scale": FIXED_UNITS["mass"],
}
"""The unit of an input's numbers; others are in inches."""


def tolerance_data(found: LineSpread) -> dict[str, Any]:
    """Return the finding as JSON types."""
    return {
        "format": FORMAT,
        "scenario": identity(found.scenario),
        "made_by": {"samespin": version()},
        "balls": found.balls,
        "declared": found.declared,
        "inputs": [_input(input_) for input_ in found.inputs.each],
        "not_counted": [
            {
                "kind": usual.kind,
                "inputs": [_input(input_) for input_ in usual.inputs],
                "good_share": _shares(usual.good),
            }
            for usual in found.usual
        ],
        "held_densities": list(found.held),
        "weights": [
            _weight(weight)
            | {
                "good_share_on_steps": None
                if found.stepped is None
                else number(found.stepped[weight.label].value)
            }
            for weight in found.weights
        ],
        "line": share_data(found.line),
        "half_as_wide": [
            {
                "input": tighter.input.name,
                "good_share": _shares(tighter.good),
                "line_good_share": number(tighter.line.value),
            }
            for tighter in found.tighter
        ],
        "between": [
            {
                "weights": list(between.labels),
                "differences": {
                    name: _moments(name, moments) for name, moments in between.moments.items()
                },
            }
            for between in found.between
        ],
        "warnings": [
            *result_warnings(found.result),
            *(misfit.words(Units.of(found.scenario)) for misfit in found.misfits),
        ],
    }


def share_data(share: Share) -> dict[str, Any]:
    """Return a share of good balls with its interval."""
    return {
        "good_share": number(share.value),
        "good_interval": [number(share.low), number(share.high)],
        "balls": share.of,
    }


def _shares(shares: Mapping[str, Share]) -> dict[str, float]:
    return {label: number(share.value) for label, share in shares.items()}


def _input(input_: Input) -> dict[str, Any]:
    unit, size = INPUTS.get(input_.kind, ("in", INCH))
    most = input_.law.most
    return {
        "name": input_.name,
        "kind": input_.kind,
        "distribution": type(input_.law).__name__.lower(),
        "sd": number(input_.law.sd / size),
        "most": number(most / size) if most != float("inf") else None,
        "unit": unit,
        "known": "measured" if input_.law.measured else "stated" if input_.stated else "assumed",
        "measured_on": input_.law.count,
        "shared_by": [list(group) for group in input_.groups],
    }


def _weight(weight: WeightSpread) -> dict[str, Any]:
    names = [
        str(input_.of) if input_.kind == "density" else input_.name
        for input_ in weight.model.inputs
    ]
    return {
        "label": weight.label,
        **share_data(weight.good),
        "rulebook_share": number(weight.rules.value),
        "inside": [_band(band, share) for band, share in weight.inside.items()],
        "first_order_good_share": number(weight.linear),
        "disagreement": disagreement(weight),
        "figures": {
            name: _moments(name, moments)
            | {
                "nominal": _number(name, weight.model.nominal[name]),
                "first_order_sd": _number(name, weight.sd[name]),
                "worst": None
                if weight.worst is None
                else [_number(name, end) for end in weight.worst[name]],
                "model_error": _number(name, weight.missed[name]),
            }
            for name, moments in weight.simulated.items()
        },
        "capability": {
            figure: {"cp": number(its.cp), "cpk": number(its.cpk), "outside": number(its.outside)}
            for figure, its in capabilities(weight).items()
        },
        "sensitivities": {
            figure: {
                input_.name: _number(figure, slope * _size(input_))
                for input_, slope in zip(weight.model.inputs, slopes.tolist(), strict=True)
            }
            for figure, slopes in weight.model.slopes.items()
        },
        "variance_shares": {
            figure: dict(zip(names, map(number, shares.tolist()), strict=True))
            for figure, shares in weight.shares.items()
        },
    }


def _size(input_: Input) -> float:
    return INPUTS.get(input_.kind, ("in", INCH))[1]


def _band(band: Band, share: Share) -> dict[str, Any]:
    ends = [
        None if abs(end) == float("inf") else _number(band.figure, end)
        for end in (band.low, band.high)
    ]
    rule = None if band.rule is None else band.rule.words
    return {
        "figure": band.figure,
        "rule": rule,
        "low": ends[0],
        "high": ends[1],
        "share": number(share.value),
    }


def _moments(name: str, moments: Moments) -> dict[str, Any]:
    return {
        "unit": UNITS.get(name, ("in", INCH))[0],
        "mean": _number(name, moments.mean),
        "sd": _number(name, moments.sd),
        "interval_95": [_number(name, moments.quantile(part)) for part in (0.025, 0.975)],
    }


def _number(name: str, value: float) -> float | None:
    """Return a figure in its unit; None where no ball has it: a low-RG axis."""
    return None if isnan(value) else number(value / UNITS.get(name, ("in", INCH))[1])
