"""Where rules, and what is asked of an intermediate differential, let a weight class be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from optimizer.limits import INTERMEDIATE_MOST, Measures
from optimizer.linear.maps import LinearMap
from optimizer.linear.rows import Margin
from optimizer.linear.targets import NAMES
from optimizer.lineup.margins import margins
from optimizer.studies.bands import Band, box, shared
from optimizer.studies.claims import Claim

NO_DIFFERENTIAL = "no differential"
"""What makes an edge where the differential is 0: no ball has less."""
NOWHERE = "nothing"


def boxes(one: LinearMap, limits: Sequence[Measures], *, pin_high: bool) -> tuple[Band, ...]:
    """Return where an `opened` weight class may be in the plane: none, or one box.

    With the pin axis high, a symmetric core's intermediate differential is its differential.
    """
    rules = rules_box(one, limits)
    return shared(rules, _inner_box(one, limits)) if one.symmetric and pin_high else (rules,)


def rules_box(one: LinearMap, limits: Sequence[Measures]) -> Band:
    """Return where the rulebook lets an `opened` weight class be, and its differential is not < 0.

    A rule that is not worded for this class, or not asked for, holds nothing.
    """
    ends = {"rg min": 0.0, "rg max": one.radius, "differential min": 0.0}
    ends["differential max"] = one.radius
    by = {name: Claim(NOWHERE, weight=one.label) for name in ends}
    by["differential min"] = Claim(NO_DIFFERENTIAL, weight=one.label)
    for m in _on_radii(one, limits):
        figure = m.limit.partition(" ")[2]
        if m.limit != INTERMEDIATE_MOST and figure in ends:
            ends[figure], by[figure] = m.bound, Claim(m.limit, m.part, m.weight)
    low, high, least, most = ends.values()
    return box((low, high), (least, most), list(by.values()))


def _inner_box(one: LinearMap, limits: Sequence[Measures]) -> Band:
    """Return what is asked of the differential by what is asked of an intermediate one."""
    least, most, by = 0.0, one.radius, [Claim(NOWHERE, weight=one.label)] * 4
    asked = one.intermediate
    if asked is not None:
        least, most, by[2], by[3] = asked.low, asked.high, Claim(NAMES[2]), Claim(NAMES[2])
    for m in _on_radii(one, limits):
        if m.limit == INTERMEDIATE_MOST and m.bound < most:
            most, by[3] = m.bound, Claim(m.limit, m.part, m.weight)
    return box((0.0, one.radius), (least, most), by)


def _on_radii(one: LinearMap, limits: Sequence[Measures]) -> Iterator[Margin]:
    x = np.array([(pour.low + pour.high) / 2 for pour in one.pours])
    return (m for m in margins(one.ball(x), limits) if m.quantity == "rg" and not m.rule_only)
