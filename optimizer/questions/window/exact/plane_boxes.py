"""The box in the plane to which rules and an intermediate differential keep a weight class."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL, LOW_RG, Figure
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.claims import Claim, Kind, Other
from optimizer.questions.window.exact.bands import Band, box, shared


def boxes(linear_map: LinearMap, *, pin_high: bool) -> tuple[Band, ...]:
    """Return the box of an `opened` weight class in the plane, if it isn't empty.

    With the pin axis high, a symmetric core's intermediate differential is its differential.
    """
    rules = rules_box(linear_map)
    return shared(rules, _inner_box(linear_map)) if linear_map.symmetric and pin_high else (rules,)


def rules_box(linear_map: LinearMap) -> Band:
    """Return the box that the rulebook allows an `opened` weight class; no differential is < 0.

    A rule that isn't worded for this class, or isn't asked for, doesn't apply.
    """
    ends = {(figure, side): 0.0 if side == "min" else linear_map.radius for figure, side in SIDES}
    by: dict[tuple[Figure, str], Claim] = {
        key: Other(Kind.NOWHERE, weight=linear_map.label) for key in ends
    }
    by[DIFFERENTIAL, "min"] = Other(Kind.NO_DIFFERENTIAL, weight=linear_map.label)
    for bound in _binding(linear_map):
        key = (bound.figure, bound.side)
        if key in ends:
            ends[key], by[key] = bound.value, bound
    low, high, least, most = ends.values()
    return box((low, high), (least, most), list(by.values()))


SIDES = tuple((figure, side) for figure in (LOW_RG, DIFFERENTIAL) for side in ("min", "max"))


def _inner_box(linear_map: LinearMap) -> Band:
    """Return the box to which bounds on the intermediate differential keep the differential."""
    least, most = 0.0, linear_map.radius
    by: list[Claim] = [Other(Kind.NOWHERE, weight=linear_map.label)] * 4
    for bound in linear_map.bounds:
        if bound.figure == INTERMEDIATE_DIFFERENTIAL and bound.side == "both":
            least, most, by[2:] = bound.low, bound.high, [bound.everywhere] * 2
    for bound in _binding(linear_map):
        if bound.figure == INTERMEDIATE_DIFFERENTIAL and bound.high < most:
            most, by[3] = bound.high, bound
    return box((0.0, linear_map.radius), (least, most), by)


def _binding(linear_map: LinearMap) -> Iterator[Bound]:
    return (bound for bound in linear_map.bounds if bound.binds and bound.side != "both")
