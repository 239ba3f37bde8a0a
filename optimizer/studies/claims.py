"""What a scenario asks, claim by claim, and the line-up that is left when some claims are waived.

A claim is one thing that could be let go: a bound (a limit of one part in one weight, a class
weight, a figure of the target, a fixed density), one density for several weights, a whole weight
class. The order of the list says what is let go first when a conflict is sought: the least telling.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

from optimizer.limits import DensityRange
from optimizer.linear.bounds import Bound, named
from optimizer.linear.figures import (
    DENSITY,
    DENSITY_STEP,
    INTERMEDIATE_DIFFERENTIAL,
    PIN_DISTANCE,
    RADII,
    TOP_WEIGHT,
    WEIGHT,
    Figure,
    Subject,
)
from optimizer.linear.maps import LinearMap
from optimizer.linear.targets import Span
from optimizer.lineup.columns import columns
from optimizer.lineup.result import WeightResult
from optimizer.lineup.rows import Lineup
from shared.arrays import Array
from shared.models import POURABLE

CLASS, SHARED = "weight class", "one density"
TELLING: Final[Mapping[Figure, int]] = {
    TOP_WEIGHT: 1,
    PIN_DISTANCE: 2,
    DENSITY_STEP: 3,
    DENSITY: 3,
    INTERMEDIATE_DIFFERENTIAL: 4,
}
"""How telling a limit on a figure is; rules and walls are the least."""


@dataclass(frozen=True)
class Other:
    """What holds a line-up besides bounds: `words` say what, of which parts and weight, if any."""

    words: str
    of: Subject = None
    weight: str | None = None

    @property
    def sort(self) -> tuple[str, Subject]:
        """What is alike of those in other weights."""
        return self.words, self.of

    @property
    def name(self) -> str:
        """What it is, and of what: "cover one density"."""
        return named(self.of, self.words)


Claim: TypeAlias = Bound | Other


@dataclass(frozen=True)
class Asked:
    """All that a scenario asks of some weight classes, and densities to start from, by label.

    `within`: a ball may be off its target by the declared tolerances.
    """

    maps: tuple[LinearMap, ...]
    sharing: Mapping[str, Sequence[Sequence[str]]]
    start: Mapping[str, Array]
    within: bool = False

    def without(self, waived: Collection[Claim]) -> Lineup:
        """Return the line-up that is left when `waived` is let go, starting where it was asked."""
        gone = frozenset(waived)
        kept = [one for one in self.maps if _class(one.label) not in gone]
        radius = max(one.radius for one in kept)
        maps = tuple(_waived(one, gone, radius) for one in kept)
        shared = {claim.of for claim in gone if isinstance(claim, Other) and claim.words == SHARED}
        sharing = {part: g for part, g in self.sharing.items() if part not in shared}
        found = columns(maps, sharing)
        middle = found.middle.copy()
        for k, one in enumerate(kept):
            own = found.poured[k]
            middle[own] = self.start.get(one.label, middle[own])
        spans = kept[0].target.spans if kept[0].target else ()
        middle[found.figures :] = [(span.low + span.high) / 2 for span in spans]
        return Lineup(maps, replace(found, middle=middle), self.within)

    def claims(self, weights: Sequence[WeightResult]) -> list[Claim]:
        """Return every claim, the least telling first; `weights` are the nearest balls.

        A margin far from its limit at the nearest ball tells less than a near one.
        """
        labels = {one.label for one in self.maps}
        ranked: list[tuple[int, float, Claim]] = []
        for weight in weights:
            for m in weight.margins if weight.label in labels else ():
                if m.movable and not m.rule_only and m.middle is None:
                    telling = 0 if m.bound.rule else TELLING.get(m.bound.figure, 0)
                    ranked.append((telling, -m.slack / (m.tolerance or 1.0), m.bound))
        margins = [claim for *_, claim in sorted(ranked, key=lambda item: item[:2])]
        pours = {p.part: p for one in self.maps for p in one.pours}
        shared = [
            Other(SHARED, part)
            for part, pour in pours.items()
            if not pour.fixed and any(labels & set(g) - {g[0]} for g in self.sharing[part])
        ]
        given = dict.fromkeys(
            b.everywhere for one in self.maps for b in one.bounds if b.side == "both"
        )
        fixed = [claim for claim in given if claim.figure == DENSITY]
        target = [claim for claim in given if claim.figure in RADII]
        weighed = [one.target_of(WEIGHT) for one in self.maps]
        classes = [_class(one.label) for one in self.maps] if len(self.maps) > 1 else []
        return [*classes, *shared, *margins, *fixed, *weighed, *reversed(target)]


def _class(label: str) -> Other:
    return Other(CLASS, weight=label)


def _waived(one: LinearMap, waived: frozenset[Claim], radius: float) -> LinearMap:
    """Return a weight class with its own claims let go: limits, weight, target, fixed densities.

    No RG exceeds the `radius` of the largest ball: about an axis through the centre no point is
    farther out, and about a parallel one through the CG the RG is less.
    """
    gone = {bound for bound in one.bounds if not waived.isdisjoint((bound, bound.everywhere))}
    given = {bound for bound in gone if bound.side == "both"}
    let, widest, target = {bound.figure for bound in given}, Span(0.0, radius), one.target
    if target is not None:
        spans = zip(RADII, target.spans, strict=False)
        target = target.with_spans([widest if figure in let else span for figure, span in spans])
    parts, (least, most) = {bound.of for bound in given}, POURABLE
    pours = tuple(
        replace(p, low=min(p.low, least), high=max(p.high, most)) if p.part in parts else p
        for p in one.pours
    )
    sought = DensityRange().bounds(replace(one, pours=pours))
    free = [replace(b, low=widest.low, high=widest.high) for b in given if b.figure in RADII]
    bounds = (
        *(bound for bound in one.bounds if bound not in gone),
        *sorted(free, key=lambda bound: RADII.index(bound.figure)),
        *(bound for bound in sought if bound.of in parts),
    )
    return replace(
        one, target=target, pours=pours, bounds=bounds, weighed=one.weighed and WEIGHT not in let
    )
