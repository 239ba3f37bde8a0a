"""Windows as data: the object that `window --json` prints, "samespin/window@1"; all in inches."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from optimizer.ball.figures import TARGETED
from optimizer.questions.line_up.data import figure_key, number, scenario_data
from optimizer.questions.line_up.warnings import all_warnings
from optimizer.questions.window.edges import claim_data, part_data
from optimizer.questions.window.exact.bands import Band
from optimizer.questions.window.page import extents
from optimizer.questions.window.reach import PLANE, Reach
from optimizer.questions.window.window import Window
from shared.arrays import Array
from shared.units import INCH

FORMAT: Final = "samespin/window@1"


def window_data(window: Window) -> dict[str, Any]:
    """Return the windows as JSON types.

    "window" and "common" are the outline of the largest piece, counter-clockwise and not closed;
    "pieces" holds all pieces, each edge with its limits.
    """
    narrow = window.narrowest
    return {
        "format": FORMAT,
        "scenario": scenario_data(window.scenario),
        "about": window.scenario.about,
        "target": _target(window),
        "weights": [
            {
                "label": weight.map.label,
                "window": _largest(weight.alone),
                **_reach(weight.alone),
                "common_without": None if weight.without is None else _largest(weight.without),
                "note": weight.note,
            }
            for weight in window.weights
        ],
        "common": _largest(window.common),
        "common_reach": _reach(window.common),
        "narrowest": None if narrow is None else narrow.map.label,
        "broken": [
            {"limit": m.words, "part": part_data(m.part), "weight": m.weight} for m in window.broken
        ],
        "warnings": list(all_warnings(window.scenario, (), window.maps)),
    }


def _largest(reach: Reach) -> list[list[float]]:
    if reach.empty:
        return []
    return _points(max(reach.bands, key=lambda band: (band.area, len(band.rg))).outline)


def _points(points: Array) -> list[list[float]]:
    return [_inches(point) for point in points.tolist()]


def _inches(lengths: Iterable[float]) -> list[float]:
    return [number(length / INCH) for length in lengths]


def _reach(reach: Reach) -> dict[str, Any]:
    spans: Mapping[str, Any] = {"rg_in": None, "differential_in": None}
    if not reach.empty:
        spans = dict(zip(spans, map(_inches, extents(reach)), strict=True))
    return {
        **spans,
        "area_in2": number(reach.area / INCH**2),
        "known": reach.known,
        "proven": reach.proven,
        "bounded": reach.bounded,
        "whole": reach.whole,
        "off_pin": reach.off_pin,
        "error_in": number(reach.error / INCH),
        "pieces": [_piece(band) for band in reach.bands],
    }


def _piece(band: Band) -> dict[str, Any]:
    return {
        "outline": _points(band.outline),
        "edges": [
            {"points": _points(points), "limits": [claim_data(claim) for claim in makers]}
            for points, makers in band.edges
        ],
    }


def _target(window: Window) -> dict[str, Any] | None:
    target = window.scenario.target
    if not target:
        return None
    spans = {figure: _inches((span.low, span.high)) for figure, span in target.items()}
    tolerances = {figure: number((target[figure].tolerance or 0.0) / INCH) for figure in PLANE}
    return {
        **{figure_key(figure): spans.get(figure) for figure in TARGETED},
        **{f"{figure.key}_tolerance_in": tolerance for figure, tolerance in tolerances.items()},
        "in_shared_window": window.holds_target,
        "line_up": window.answer,
    }
