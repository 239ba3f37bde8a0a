"""Windows as data: the object that `window --json` prints, "samespin/window@1"; all in inches."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from optimizer.questions.line_up.data import number, scenario_data
from optimizer.questions.line_up.warnings import all_warnings
from optimizer.questions.window.edges import claim_data, part_data
from optimizer.questions.window.exact.bands import Band
from optimizer.questions.window.page import extents
from optimizer.questions.window.reach import Reach
from optimizer.questions.window.window import Window
from shared.arrays import Array
from shared.units import INCH

FORMAT: Final = "samespin/window@1"


def window_data(found: Window) -> dict[str, Any]:
    """Return the windows as JSON types.

    "window" and "common" are the outline of the largest piece, counter-clockwise and not closed;
    "pieces" holds them all, with what makes each edge.
    """
    common, narrow = _reach(found.common), found.narrowest
    return {
        "format": FORMAT,
        "scenario": scenario_data(found.scenario),
        "about": found.scenario.about,
        "target": _target(found),
        "weights": [
            {"label": one.map.label}
            | {"window": _largest(one.alone)}
            | _reach(one.alone)
            | {"common_without": None if one.without is None else _largest(one.without)}
            | {"note": one.note}
            for one in found.weights
        ],
        "common": _largest(found.common),
        "common_reach": common,
        "narrowest": None if narrow is None else narrow.map.label,
        "broken": [
            {"limit": m.words, "part": part_data(m.part), "weight": m.weight} for m in found.broken
        ],
        "warnings": list(all_warnings(found.scenario, (), [one.map for one in found.weights])),
    }


def _largest(found: Reach) -> list[list[float]]:
    if found.empty:
        return []
    return _points(max(found.bands, key=lambda band: (band.area, len(band.rg))).outline)


def _points(points: Array) -> list[list[float]]:
    return [_inches(point) for point in points.tolist()]


def _inches(lengths: Iterable[float]) -> list[float]:
    return [number(length / INCH) for length in lengths]


def _reach(found: Reach) -> dict[str, Any]:
    spans: Mapping[str, Any] = {"rg_in": None, "differential_in": None}
    if not found.empty:
        spans = dict(zip(spans, map(_inches, extents(found)), strict=True))
    return {
        **spans,
        "area_in2": number(found.area / INCH**2),
        "known": found.known,
        "proven": found.proven,
        "whole": found.whole,
        "off_pin": found.off_pin,
        "error_in": number(found.error / INCH),
        "pieces": [_piece(band) for band in found.bands],
    }


def _piece(band: Band) -> dict[str, Any]:
    return {
        "outline": _points(band.outline),
        "edges": [
            {"points": _points(points), "limits": [claim_data(claim) for claim in makers]}
            for points, makers in band.edges
        ],
    }


def _target(found: Window) -> dict[str, Any] | None:
    target = found.scenario.target
    if target is None:
        return None
    inner = target.intermediate
    return {
        "rg_in": _inches((target.rg.low, target.rg.high)),
        "differential_in": _inches((target.differential.low, target.differential.high)),
        "intermediate_differential_in": None if inner is None else _inches((inner.low, inner.high)),
        "rg_tolerance_in": number(target.rg_tolerance / INCH),
        "differential_tolerance_in": number(target.differential_tolerance / INCH),
        "in_shared_window": found.holds_target,
        "line_up": found.answer,
    }
