"""The unknowns of a line-up: which column holds the density of which part in which weight."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from optimizer.linear.maps import LinearMap
from shared.arrays import Array, frozen

LIGHTEST, HEAVIEST = 0.01, 25.0
"""g/cm³: what is a solid at all. The ranges that can be poured are limits, with margins."""

TOGETHER = 400
"""Densities and dimensions that are sought in one program at the most: it takes minutes."""

Places = npt.NDArray[np.intp]
"""Numbers of columns."""

Sharing = Mapping[str, Sequence[Sequence[str]]]
"""Per part, the groups of weight labels that pour one density."""


@dataclass(frozen=True, eq=False)
class Columns:
    """Densities, then free dimensions (cm), then the target's figures (cm), fixed: lower = upper.

    `poured[k]` (n,) are the columns of the densities of class `k`, `drawn[k]` (d,) those of its
    dimensions, in the order of its map: weights need not have the same parts. Dimensions begin at
    the column `moulds`, figures at `figures`. `middle` is where a search starts.
    """

    poured: tuple[Places, ...]
    drawn: tuple[Places, ...]
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

    def of(self, k: int) -> Places:
        """Return the columns (n + d,) of class `k`: its densities, then its dimensions."""
        return self._own[k]

    @cached_property
    def _own(self) -> tuple[Places, ...]:
        pairs = zip(self.poured, self.drawn, strict=True)
        return tuple(np.concatenate(pair) for pair in pairs)

    def some(self, members: Sequence[int], whole: Columns, x: Array) -> Array:
        """Return these columns from `x`, those of a `whole` line of which these are `members`."""
        taken = np.zeros(self.count)
        for k, member in enumerate(members):
            taken[self.of(k)] = x[whole.of(member)]
        taken[self.figures :] = x[whole.figures :]
        return taken

    def filled(self, densities: Sequence[Array], figures: Sequence[float] | Array) -> Array:
        """Return columns with the densities of each class and the target's figures, cm.

        Of a line-up whose mould is given: no dimension is free.
        """
        x = np.zeros(self.count)
        for places, own in zip(self.poured, densities, strict=True):
            x[places] = own
        x[self.figures :] = figures
        return x

    def scatter(self, k: int, gradient: Array | None, by_figure: Array | None = None) -> Array:
        """Return a row over all columns from a gradient of a ball of class `k`.

        In its densities (n,), or in its free dimensions, too (n + d,).
        """
        row = np.zeros(self.count)
        if gradient is not None:
            np.add.at(row, self.of(k)[: len(gradient)], gradient)
        if by_figure is not None:
            row[self.figures :] = by_figure
        return row

    def densities(self, k: int, x: Array) -> Array:
        """Return the densities (n,) of class `k`."""
        return np.asarray(x[self.poured[k]])

    def dimensions(self, k: int, x: Array) -> Array:
        """Return the free dimensions (d,) of class `k`, cm."""
        return np.asarray(x[self.drawn[k]])

    def target(self, x: Array) -> Array:
        """Return the target's figures, cm."""
        return np.asarray(x[self.figures :])


Bounds = tuple[float, float, float, float]
"""Lower, upper, middle, spread."""
Unknown = tuple[str, str, Bounds]
"""What it is, the first weight of those that have it alike, and its bounds."""


@dataclass
class _Unknowns:
    """Columns as they are found: one for each thing and group of weights that have it alike."""

    seen: dict[tuple[str, str], int] = field(default_factory=dict)
    bounds: list[Bounds] = field(default_factory=list)

    def places(self, some: Iterable[Unknown]) -> Places:
        """Return the columns of some unknowns, new ones for those that aren't there yet."""
        return np.array([self._column(*one) for one in some], dtype=np.intp)

    def _column(self, name: str, group: str, bounds: Bounds) -> int:
        key = (name, group)
        if key not in self.seen:
            self.seen[key] = len(self.bounds)
            self.bounds.append(bounds)
        return self.seen[key]


def columns(maps: Sequence[LinearMap], sharing: Sharing) -> Columns:
    """Return the columns of these weight classes; densities that are shared have one column."""
    found = _Unknowns()
    poured = tuple(found.places(_densities(one, sharing)) for one in maps)
    moulds = len(found.bounds)
    drawn = tuple(found.places(_dimensions(one)) for one in maps)
    figures, target = len(found.bounds), maps[0].target
    spans = [
        (span.low, span.high, (span.low + span.high) / 2, span.high - span.low)
        for span in (target.spans if target else ())
    ]
    lower, upper, middle, spread = (
        frozen(column) for column in zip(*found.bounds, *spans, strict=True)
    )
    return Columns(poured, drawn, moulds, figures, lower, upper, middle, spread)


def _densities(one: LinearMap, sharing: Sharing) -> Iterator[Unknown]:
    """Yield a weight's densities."""
    for pour in one.pours:
        ends = (pour.low, pour.high) if pour.fixed else (min(pour.low, LIGHTEST), HEAVIEST)
        bounds = (*ends, (pour.low + pour.high) / 2, pour.high - pour.low)
        yield f"part {pour.part}", _group(one.label, sharing.get(pour.part, ())), bounds


def _dimensions(one: LinearMap) -> Iterator[Unknown]:
    """Yield a weight's free dimensions."""
    for dimension in one.free:
        bounds = (dimension.low, dimension.high, dimension.start, dimension.span)
        yield f"dimension {dimension.name}", _group(one.label, dimension.groups), bounds


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
    sought = dict.fromkeys(pour.part for one in maps for pour in one.pours if not pour.fixed)
    shared = [labels for part in sought for labels in sharing.get(part, ())]
    moulds = {dimension.name: dimension.groups for one in maps for dimension in one.free}
    for labels in (*shared, *(labels for groups in moulds.values() for labels in groups)):
        members = {group[number[label]] for label in labels if label in number}
        group = [min(members) if g in members else g for g in group]
    for name in dict.fromkeys(group):
        yield tuple(k for k, g in enumerate(group) if g == name)
