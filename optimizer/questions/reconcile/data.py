"""The finding as data: the object that `reconcile --json` prints, "samespin/reconcile@1"."""

from __future__ import annotations

from collections.abc import Iterable
from math import isnan
from typing import Any, Final

from optimizer import version
from optimizer.questions.line_up.data import identity, number
from optimizer.questions.reconcile.finding import Reconciled
from optimizer.questions.reconcile.found import FoundBall, Suspect
from optimizer.questions.reconcile.measured.measurements import (
    FIGURES,
    Measurement,
    Quantity,
    reading,
)
from optimizer.questions.reconcile.telling import Telling
from shared.units import INCH, OUNCE, POUND

FORMAT: Final = "samespin/reconcile@1"
UNITS: Final[dict[Quantity, tuple[str, float]]] = {
    "mass": ("lb", POUND),
    "rg": ("in", INCH),
    "length": ("in", INCH),
    "imbalance": ("oz", OUNCE),
    "period": ("s", 1.0),
}
"""The unit of a reading's numbers; castings are in g."""


def reconcile_data(found: Reconciled, told: Iterable[Telling]) -> dict[str, Any]:
    """Return the finding as JSON types."""
    return {
        "format": FORMAT,
        "scenario": identity(found.scenario),
        "made_by": {"samespin": version()},
        "fits": found.fits,
        "tests": [
            {
                "balls": [ball.name for ball in stack.balls],
                "chi_squared": number(test.statistic),
                "limit": number(test.limit),
                "readings": test.freedom,
                "passed": test.passed,
            }
            for stack, test in found.tests
        ],
        "suspects": [
            _suspect(suspect, suspect.reading) for suspect in found.suspects if suspect.reading
        ],
        "unlikely": [
            {"ball": s.ball, "input": s.input.name, "standardised": number(s.off)}
            for s in found.suspects
            if s.input
        ],
        "assumed_gauges": [
            gauge
            for gauge in dict.fromkeys(one.kind.gauge for one in found.measured.each)
            if reading(found.scenario, gauge).assumed
        ],
        "balls": [
            _ball(each, wide=found.aimed.lineup is None) | {"fits": found.ball_fits(each.ball.name)}
            for each in found.balls
        ],
        "next_measurements": [
            {
                "like_ball": one.ball,
                "label": one.label,
                "measurements": [
                    {
                        "measurement": more.reading.kind.name,
                        "of": more.reading.of,
                        "part": more.part,
                        "sd_now_g_cm3": number(more.now),
                        "sd_then_g_cm3": number(more.then),
                        "gain": number(more.gain),
                        "cost": more.cost,
                    }
                    for more in one.more
                ],
            }
            for one in told
        ],
    }


def _ball(each: FoundBall, *, wide: bool) -> dict[str, Any]:
    return {
        "ball": each.ball.name,
        "label": each.ball.label,
        "densities_g_cm3": {
            part.part: {
                "estimate": number(part.estimate),
                "interval": [number(end) for end in part.interval],
                "aimed": None if wide else number(part.aimed),
                "sd": number(part.sd),
                "sd_before": number(part.before),
            }
            for part in each.parts
        },
        "not_told_apart": [list(pair) for pair in each.together],
        "figures": {
            figure.name: {
                "unit": UNITS[FIGURES[figure.name].quantity][0],
                "estimate": _in_unit(figure.name, figure.estimate),
                "interval": [_in_unit(figure.name, end) for end in figure.interval],
                "aimed": _in_unit(figure.name, figure.aimed),
            }
            for figure in each.figures
        },
    }


def _in_unit(kind: str, value: float) -> float:
    return number(value / UNITS[FIGURES[kind].quantity][1])


def _suspect(suspect: Suspect, of: Measurement) -> dict[str, Any]:
    unit, size = _unit(of)
    return {
        "line": of.line,
        "ball": of.ball,
        "measurement": of.kind.name,
        "of": of.of,
        "unit": unit,
        "value": number(of.value / size),
        "expected": None if isnan(suspect.expected) else number(suspect.expected / size),
        "standardised": number(suspect.off),
        "explains_it_alone": suspect.alone,
    }


def _unit(of: Measurement) -> tuple[str, float]:
    return ("g", 1.0) if of.kind.name == "casting" else UNITS[of.kind.quantity]
