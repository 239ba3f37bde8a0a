"""Where rules, and what is asked of an intermediate differential, let a weight class be."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL, LOW_RG, Figure
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.claims import Claim, Kind, Other
from optimizer.questions.window.exact.bands import Band, box, shared


def boxes(linear_map: LinearMap, *, pin_high: bool) -> tuple[Band, ...]:
    """Return where an `opened` weight class may be in the plane: none, or one box.

    With the pin axis high, a symmetric core's intermediate differential is its differential.
    """
    rules = rules_box(linear_map)
    return shared(rules, _inner_box(linear_map)) if linear_map.symmetric and pin_high else (rules,)


def rules_box(linear_map: LinearMap) -> Band:
    """Return where the rulebook lets an `opened` weight class be, and its differential is not < 0.

    A rule that is not worded for this class, or not asked for, holds nothing.
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
    """Return what is asked of the differential by what is asked of an intermediate one."""
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
    """Yield the limits that bind."""
    return (bound for bound in linear_map.bounds if bound.binds and bound.side != "both")
