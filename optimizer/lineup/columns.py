"""The unknowns of a line-up: which column holds the density of which part in which weight."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from optimizer.ball.weight_class import LinearMap
from shared.arrays import Array, frozen

LIGHTEST, HEAVIEST = 0.01, 25.0
"""g/cm³: what is a solid at all. The ranges that can be poured are limits, with margins."""

TOGETHER = 400
"""Densities and dimensions that are sought in one program at the most: it takes minutes."""

Places = npt.NDArray[np.intp]
"""Numbers of columns."""
Flags = npt.NDArray[np.bool_]
"""Of each column, whether it is meant."""

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

    @property
    def box(self) -> tuple[Array, Array]:
        """The lower and the upper bounds."""
        return self.lower, self.upper

    def of(self, k: int) -> Places:
        """Return the columns (n + d,) of class `k`: its densities, then its dimensions."""
        return self._own[k]

    @cached_property
    def _own(self) -> tuple[Places, ...]:
        pairs = zip(self.poured, self.drawn, strict=True)
        return tuple(np.concatenate(pair) for pair in pairs)

    @cached_property
    def mould(self) -> Flags:
        """Which columns are dimensions (c,)."""
        places = np.arange(self.count)
        return np.asarray((places >= self.moulds) & (places < self.figures))

    def held(self, which: int | Flags, at: float | Array) -> Columns:
        """Return the same with some columns held at values."""
        lower, upper = self.lower.copy(), self.upper.copy()
        lower[which] = upper[which] = at
        return replace(self, lower=lower, upper=upper)

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


class _Unknown(NamedTuple):
    """One column: what it is, the first weight of those that have it alike, and its numbers."""

    name: str
    group: str
    lower: float
    upper: float
    middle: float
    spread: float


def columns(maps: Sequence[LinearMap], sharing: Sharing) -> Columns:
    """Return the columns of these weight classes; densities that are shared have one column."""
    unknowns: dict[tuple[str, str], tuple[int, _Unknown]] = {}

    def places(own: Iterable[_Unknown]) -> Places:
        """Return the columns of a weight's unknowns, new ones for those that aren't there yet."""
        seen = [unknowns.setdefault(one[:2], (len(unknowns), one)) for one in own]
        return np.array([place for place, _ in seen], dtype=np.intp)

    poured = tuple(places(_densities(linear_map, sharing)) for linear_map in maps)
    moulds = len(unknowns)
    drawn = tuple(places(_dimensions(linear_map)) for linear_map in maps)
    figures, target = len(unknowns), maps[0].target
    numbers = [one[2:] for _, one in unknowns.values()] + [
        (span.low, span.high, (span.low + span.high) / 2, span.high - span.low)
        for span in (target.spans if target else ())
    ]
    return Columns(poured, drawn, moulds, figures, *map(frozen, zip(*numbers, strict=True)))


def _densities(linear_map: LinearMap, sharing: Sharing) -> Iterator[_Unknown]:
    """Yield a weight's densities."""
    for pour in linear_map.pours:
        ends = (pour.low, pour.high) if pour.fixed else (min(pour.low, LIGHTEST), HEAVIEST)
        middle, spread = (pour.low + pour.high) / 2, pour.high - pour.low
        group = _group(linear_map.label, sharing.get(pour.part, ()))
        yield _Unknown(f"part {pour.part}", group, *ends, middle, spread)


def _dimensions(linear_map: LinearMap) -> Iterator[_Unknown]:
    """Yield a weight's free dimensions."""
    for free in linear_map.free:
        name, group = f"dimension {free.name}", _group(linear_map.label, free.groups)
        yield _Unknown(name, group, free.low, free.high, free.start, free.span)


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
    number = {linear_map.label: k for k, linear_map in enumerate(maps)}
    sought = dict.fromkeys(
        pour.part for linear_map in maps for pour in linear_map.pours if not pour.fixed
    )
    shared = [labels for part in sought for labels in sharing.get(part, ())]
    moulds = {
        dimension.name: dimension.groups for linear_map in maps for dimension in linear_map.free
    }
    for labels in (*shared, *(labels for groups in moulds.values() for labels in groups)):
        members = {group[number[label]] for label in labels if label in number}
        group = [min(members) if g in members else g for g in group]
    for name in dict.fromkeys(group):
        yield tuple(k for k, g in enumerate(group) if g == name)
