"""A scenario's requirements, claim by claim, and the line-up without some of them.

A claim is one requirement that can be waived: a bound (a limit of one part in one weight, a class
weight, a figure of the target, a fixed density), one density for several weights, or a whole weight
class. The search for a conflict waives them in the order of the list, the least informative first.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final, TypeAlias

from optimizer.ball.bounds import Bound, named
from optimizer.ball.figures import (
    DENSITY,
    DENSITY_STEP,
    INTERMEDIATE_DIFFERENTIAL,
    PIN_DISTANCE,
    TARGETED,
    TOP_WEIGHT,
    WEIGHT,
    Figure,
    Subject,
)
from optimizer.ball.limits import DensityRange
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.result import WeightResult
from optimizer.lineup.rows import Lineup
from shared.models import POURABLE

TELLING: Final[Mapping[Figure, int]] = {
    TOP_WEIGHT: 1,
    PIN_DISTANCE: 2,
    DENSITY_STEP: 3,
    DENSITY: 3,
    INTERMEDIATE_DIFFERENTIAL: 4,
}
"""How informative a limit on a figure is in a conflict; rules and walls are the least."""


class Kind(Enum):
    """What constrains a line-up besides bounds, in words."""

    CLASS = "weight class"
    SHARED = "one density"
    NO_DIFFERENTIAL = "no differential"
    """An edge where the differential is 0, the least of any ball."""
    NOWHERE = "nothing"
    """An edge that is not due to a limit."""
    ALIKE = "two RGs alike"
    """An edge where two axes change places."""
    CENTRED = "CG at the centre"
    """An edge where a limit changes sides with the CG."""
    ORDER = "order of the axes"


@dataclass(frozen=True)
class Other:
    """A constraint besides bounds, with its part and weight if it has them."""

    kind: Kind
    of: Subject = None
    weight: str | None = None
    detail: str = ""

    @property
    def words(self) -> str:
        """Its name without the part."""
        return f"{self.kind.value}{f' ({self.detail})' if self.detail else ''}"

    @property
    def sort(self) -> tuple[Kind, Subject]:
        """A key shared with those in other weights."""
        return self.kind, self.of

    @property
    def name(self) -> str:
        """Its full name: "cover one density"."""
        return named(self.of, self.words)


Claim: TypeAlias = Bound | Other


def is_kind(claim: Claim, kind: Kind) -> bool:
    """Whether a claim is of this kind, rather than a bound."""
    return isinstance(claim, Other) and claim.kind == kind


def without(lineup: Lineup, waived: Collection[Claim]) -> Lineup:
    """Return the line-up without the `waived` claims; a search starts where it did."""
    gone = frozenset(waived)
    kept = [linear_map for linear_map in lineup.maps if _class(linear_map.label) not in gone]
    radius = max(linear_map.radius for linear_map in kept)
    shared = {claim.of for claim in gone if is_kind(claim, Kind.SHARED)}
    sharing = {part: g for part, g in lineup.sharing.items() if part not in shared}
    left = Lineup.of([_waived(linear_map, gone, radius) for linear_map in kept], sharing)
    middle = left.carried(lineup, lineup.columns.middle)
    return replace(left, within=lineup.within, columns=replace(left.columns, middle=middle))


def claims(lineup: Lineup, weights: Sequence[WeightResult]) -> list[Claim]:
    """Return all claims, the least informative first; `weights` are the nearest balls.

    A limit that the nearest ball is far from is less informative than one it is near.
    """
    maps, labels = lineup.maps, set(lineup.labels)
    ranked: list[tuple[int, float, Claim]] = []
    for m in (m for weight in weights if weight.label in labels for m in weight.margins):
        if m.movable and not m.rule_only and m.middle is None:
            telling = 0 if m.bound.rule else TELLING.get(m.bound.figure, 0)
            ranked.append((telling, -m.slack / (m.tolerance or 1.0), m.bound))
    limits = [claim for *_, claim in sorted(ranked, key=lambda item: item[:2])]
    pours = {p.part: p for linear_map in maps for p in linear_map.pours}
    shared = [
        Other(Kind.SHARED, part)
        for part, pour in pours.items()
        if not pour.fixed and any(labels & set(g) - {g[0]} for g in lineup.sharing[part])
    ]
    given = dict.fromkeys(
        b.everywhere for linear_map in maps for b in linear_map.bounds if b.side == "both"
    )
    fixed = [claim for claim in given if claim.figure == DENSITY]
    target = [claim for claim in given if claim.figure in TARGETED]
    weighed = [linear_map.target_of(WEIGHT) for linear_map in maps]
    classes = [_class(linear_map.label) for linear_map in maps] if len(maps) > 1 else []
    return [*classes, *shared, *limits, *fixed, *weighed, *reversed(target)]


def _class(label: str) -> Other:
    return Other(Kind.CLASS, weight=label)


def _waived(linear_map: LinearMap, waived: frozenset[Claim], radius: float) -> LinearMap:
    """Return a weight class without its waived claims: limits, weight, target, fixed densities.

    No RG exceeds the `radius` of the largest ball: no point is farther from an axis through the
    centre, and about a parallel axis through the CG the RG is smaller.
    """
    gone = {
        bound for bound in linear_map.bounds if not waived.isdisjoint((bound, bound.everywhere))
    }
    given = {bound for bound in gone if bound.side == "both"}
    waived_figures = {bound.figure for bound in given}
    target = {
        figure: replace(span, low=0.0, high=radius) if figure in waived_figures else span
        for figure, span in linear_map.target.items()
    }
    parts, (least, most) = {bound.of for bound in given}, POURABLE
    pours = tuple(
        replace(p, low=min(p.low, least), high=max(p.high, most)) if p.part in parts else p
        for p in linear_map.pours
    )
    sought = DensityRange().bounds(replace(linear_map, pours=pours))
    free = [replace(b, low=0.0, high=radius) for b in given if b.figure in TARGETED]
    bounds = (
        *(bound for bound in linear_map.bounds if bound not in gone),
        *sorted(free, key=lambda bound: TARGETED.index(bound.figure)),
        *(bound for bound in sought if bound.of in parts),
    )
    return replace(linear_map, target=target, pours=pours, bounds=bounds)
