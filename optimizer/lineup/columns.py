"""The unknowns of a line-up: which column holds the density of which part in which weight."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from optimizer.linear.maps import LinearMap
from shared.arrays import Array, frozen

LIGHTEST, HEAVIEST = 0.01, 25.0
"""g/cm³: what is a solid at all. The ranges that can be poured are limits, with margins."""

Sharing = Mapping[str, Sequence[Sequence[str]]]
"""Per part, the groups of weight labels that pour one density."""


@dataclass(frozen=True, eq=False)
class Columns:
    """Densities, then free dimensions (cm), then the target's figures (cm), fixed: lower = upper.

    `place` (classes, n + d) is the column of each class's densities, n of `parts`, and of its
    dimensions, which begin at the column `moulds`, as the figures do at `figures`. `middle` is
    where a search starts.
    """

    place: npt.NDArray[np.intp]
    parts: int
    moulds: int
    figures: int
    lower: Array
    upper: Array
    middle: Array
    spread: Array

    @property
    def count(self) -> int:
        """How many columns there are."""
        return len(self.lower)

    def scatter(self, k: int, gradient: Array | None, by_figure: Array | None = None) -> Array:
        """Return a row over all columns from a gradient of a ball of class `k`.

        In its densities (n,), or in its free dimensions, too (n + d,).
        """
        row = np.zeros(self.count)
        if gradient is not None:
            np.add.at(row, self.place[k, : len(gradient)], gradient)
        if by_figure is not None:
            row[self.figures :] = by_figure
        return row

    def densities(self, k: int, x: Array) -> Array:
        """Return the densities (n,) of class `k`."""
        return np.asarray(x[self.place[k, : self.parts]])

    def dimensions(self, k: int, x: Array) -> Array:
        """Return the free dimensions (d,) of class `k`, cm."""
        return np.asarray(x[self.place[k, self.parts :]])

    def target(self, x: Array) -> Array:
        """Return the target's figures, cm."""
        return np.asarray(x[self.figures :])


@dataclass
class _Unknowns:
    """Columns as they are found: one for each thing and group of weights that have it alike."""

    seen: dict[tuple[str, str], int] = field(default_factory=dict)
    bounds: list[tuple[float, float, float, float]] = field(default_factory=list)

    def column(self, name: str, group: str, bounds: tuple[float, float, float, float]) -> int:
        key = (name, group)
        if key not in self.seen:
            self.seen[key] = len(self.bounds)
            self.bounds.append(bounds)
        return self.seen[key]


def columns(maps: Sequence[LinearMap], sharing: Sharing) -> Columns:
    """Return the columns of these weight classes; densities that are shared have one column."""
    parts, free = len(maps[0].pours), maps[0].free
    place = np.zeros((len(maps), parts + len(free)), dtype=np.intp)
    found = _Unknowns()
    for k, one in enumerate(maps):
        for i, pour in enumerate(one.pours):
            ends = (pour.low, pour.high) if pour.fixed else (LIGHTEST, HEAVIEST)
            bounds = (*ends, (pour.low + pour.high) / 2, pour.high - pour.low)
            group = _group(one.label, sharing.get(pour.part, ()))
            place[k, i] = found.column(f"part {pour.part}", group, bounds)
    moulds = len(found.bounds)
    for k, one in enumerate(maps):
        for j, dimension in enumerate(free, parts):
            bounds = (dimension.low, dimension.high, dimension.start, dimension.span)
            group = _group(one.label, dimension.groups)
            place[k, j] = found.column(f"dimension {dimension.name}", group, bounds)
    figures, target = len(found.bounds), maps[0].target
    spans = [
        (span.low, span.high, (span.low + span.high) / 2, span.high - span.low)
        for span in (target.spans if target else ())
    ]
    lower, upper, middle, spread = (
        frozen(column) for column in zip(*found.bounds, *spans, strict=True)
    )
    return Columns(place, parts, moulds, figures, lower, upper, middle, spread)


def _group(label: str, groups: Sequence[Sequence[str]]) -> str:
    """Return the first of the labels that `label` is grouped with, itself if it stands alone."""
    return next((group[0] for group in groups if label in group), label)


def coupled(maps: Sequence[LinearMap], sharing: Sharing) -> Iterator[tuple[int, ...]]:
    """Yield the groups of classes that something ties together; each is solved alone.

    Classes are tied by a density or a dimension that they share and that is not fixed, and by a
    free target.
    """
    target = maps[0].target
    if target is not None and not all(span.fixed for span in target.spans):
        yield tuple(range(len(maps)))
        return
    group = list(range(len(maps)))
    number = {one.label: k for k, one in enumerate(maps)}
    shared = [
        labels for pour in maps[0].pours if not pour.fixed for labels in sharing.get(pour.part, ())
    ]
    for labels in (*shared, *(labels for one in maps[0].free for labels in one.groups)):
        members = {group[number[label]] for label in labels if label in number}
        group = [min(members) if g in members else g for g in group]
    for name in dict.fromkeys(group):
        yield tuple(k for k, g in enumerate(group) if g == name)
