"""What a scenario asks, claim by claim, and the line-up that is left when some claims are waived.

A claim is one thing that could be let go: a limit of one part in one weight, a class weight, a
figure of the target, one density for several weights, a whole weight class. The order of the list
says what is let go first when a conflict is sought: the least telling.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from optimizer.limits import Measures
from optimizer.linear.maps import Ball, LinearMap
from optimizer.linear.rows import Margin
from optimizer.linear.targets import NAMES, Span, Target
from optimizer.lineup.columns import columns
from optimizer.lineup.margins import margins
from optimizer.lineup.result import WeightResult
from optimizer.lineup.rows import Lineup
from shared.arrays import Array
from shared.models import POURABLE

CLASS, SHARED, FIXED, WEIGHT = "weight class", "one density", "fixed density", "class weight"
RANKS = ("top weight", "pin distance", "density step", "density", FIXED, WEIGHT, *NAMES[::-1])
"""Rulebook limits, which carry the book's name, come before all of these."""


@dataclass(frozen=True)
class Claim:
    """One thing that is asked: its name, and the part and the weight that it is about, if any."""

    limit: str
    part: str | tuple[str, str] | None = None
    weight: str | None = None


@dataclass(frozen=True)
class Waiving:
    """A limit without the margins that claims stand for, and without those that `rules` name."""

    limit: Measures
    waived: Collection[Claim]
    rules: Collection[str] = ()

    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield the margins that are still asked for."""
        for margin in self.limit.margins(ball):
            claim = Claim(margin.limit, margin.part, margin.weight)
            if claim not in self.waived and margin.limit not in self.rules:
                yield margin


@dataclass(frozen=True)
class Asked:
    """All that a scenario asks of some weight classes, and densities to start from, by label.

    `within`: a ball may be off its target by the declared tolerances.
    """

    maps: tuple[LinearMap, ...]
    limits: Sequence[Measures]
    sharing: Mapping[str, Sequence[Sequence[str]]]
    start: Mapping[str, Array]
    within: bool = False

    def without(self, waived: Collection[Claim]) -> Lineup:
        """Return the line-up that is left when `waived` is let go, starting where it was asked."""
        kept = [one for one in self.maps if Claim(CLASS, weight=one.label) not in waived]
        radius = max(one.radius for one in kept)
        maps = tuple(_waived(one, waived, radius) for one in kept)
        sharing = {p: g for p, g in self.sharing.items() if Claim(SHARED, p) not in waived}
        found = columns(maps, sharing)
        middle = found.middle.copy()
        for k, one in enumerate(kept):
            own = found.poured[k]
            middle[own] = self.start.get(one.label, middle[own])
        spans = kept[0].target.spans if kept[0].target else ()
        middle[found.figures :] = [(span.low + span.high) / 2 for span in spans]
        limits = [Waiving(limit, {*waived, *self._rules}) for limit in self.limits]
        return Lineup(maps, limits, replace(found, middle=middle), self.within)

    @cached_property
    def _rules(self) -> frozenset[Claim]:
        """What only tells how a given figure stands to a rule; nor does it bind where that is free.

        A rule may bind in one part or weight and not in another.
        """
        balls = (
            one.ball(np.array([(pour.low + pour.high) / 2 for pour in one.pours]))
            for one in self.maps
        )
        return frozenset(
            Claim(margin.limit, margin.part, margin.weight)
            for ball in balls
            for margin in margins(ball, self.limits)
            if margin.rule_only
        )

    def claims(self, weights: Sequence[WeightResult]) -> list[Claim]:
        """Return every claim, the least telling first; `weights` are the nearest balls.

        A margin far from its limit at the nearest ball tells less than a near one.
        """
        labels = {one.label for one in self.maps}
        told: list[tuple[int, float, Claim]] = []
        for weight in weights:
            if weight.label not in labels:
                continue
            for m in weight.margins:
                if m.movable and not m.rule_only:
                    room = -m.slack / (m.tolerance or 1.0)
                    told.append((_rank(m.limit), room, Claim(m.limit, m.part, m.weight)))
        margins = [claim for *_, claim in sorted(told, key=lambda item: item[:2])]
        first, pours = self.maps[0], {p.part: p for one in self.maps for p in one.pours}
        shared = [
            Claim(SHARED, pour.part)
            for pour in pours.values()
            if not pour.fixed and any(labels & set(g) - {g[0]} for g in self.sharing[pour.part])
        ]
        fixed = [Claim(FIXED, pour.part) for pour in pours.values() if pour.fixed]
        target = [
            Claim(name)
            for name, _ in zip(NAMES, first.target.spans if first.target else (), strict=False)
        ]
        weighed = [Claim(WEIGHT, weight=one.label) for one in self.maps]
        classes = (
            [Claim(CLASS, weight=one.label) for one in self.maps] if len(self.maps) > 1 else []
        )
        return [*classes, *shared, *margins, *fixed, *weighed, *reversed(target)]


def _rank(limit: str) -> int:
    found = [k for k, name in enumerate(RANKS, start=1) if limit.startswith(name)]
    return max(found, default=0)


def _waived(one: LinearMap, waived: Collection[Claim], radius: float) -> LinearMap:
    """Return a weight class with its own claims let go: weight, target, fixed densities.

    No RG exceeds the `radius` of the largest ball: about an axis through the centre no point is
    farther out, and about a parallel one through the CG the RG is less.
    """
    target = one.target
    if target is not None:
        target = _widened(target, {name: (0.0, radius) for name in NAMES if Claim(name) in waived})
    least, most = POURABLE
    pours = tuple(
        replace(p, low=min(p.low, least), high=max(p.high, most))
        if Claim(FIXED, p.part) in waived
        else p
        for p in one.pours
    )
    weighed = Claim(WEIGHT, weight=one.label) not in waived
    return replace(one, target=target, pours=pours, weighed=weighed)


def _widened(target: Target, ends: Mapping[str, tuple[float, float]]) -> Target:
    def span(name: str, known: Span) -> Span:
        return Span(*ends[name]) if name in ends else known

    return replace(
        target,
        rg=span(NAMES[0], target.rg),
        differential=span(NAMES[1], target.differential),
        intermediate=None if target.intermediate is None else span(NAMES[2], target.intermediate),
    )
