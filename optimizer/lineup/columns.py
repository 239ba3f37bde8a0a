"""The unknowns of a line-up: which column holds the density of which part in which weight."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.goal_rows import Sought
from shared.arrays import Array, frozen

LIGHTEST, HEAVIEST = 0.01, 25.0
"""g/cm³: the densities of any solid. The ranges that can be poured are limits, with margins."""

TOGETHER = 400
"""The most densities and dimensions in one program; that many take minutes."""

Places = npt.NDArray[np.intp]
"""Indices of columns."""
Flags = npt.NDArray[np.bool_]
"""A mask over the columns."""

Sharing = Mapping[str, Sequence[Sequence[str]]]
"""Per part, the groups of weight labels that pour one density."""


@dataclass(frozen=True, eq=False)
class Columns:
    """Densities, then free dimensions (cm), then the target's figures (cm); fixed if lower = upper.

    `poured[k]` (n,) are the columns of class `k`'s densities, `drawn[k]` (d,) those of its
    dimensions, in the order of its map: weights need not have the same parts. Dimensions begin at
    column `moulds`, figures at column `figures`. `middle` is where a search starts.
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
        """The number of columns."""
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
        """Return these columns with some of them fixed at values."""
        lower, upper = self.lower.copy(), self.upper.copy()
        lower[which] = upper[which] = at
        return replace(self, lower=lower, upper=upper)

    def tied(self, pairs: Iterable[tuple[int, int]]) -> Columns:
        """Return these columns with pairs of densities tied: the second takes the first's column.

        A ball may then have two parts in one column.
        """
        lower, upper = self.lower.copy(), self.upper.copy()
        column = np.arange(self.count)
        for first, second in pairs:
            a, b = column[first], column[second]
            lower[a], upper[a] = max(lower[a], lower[b]), min(upper[a], upper[b])
            column[column == b] = a
        poured = tuple(column[places] for places in self.poured)
        return replace(self, poured=poured, lower=lower, upper=upper)

    def filled(self, densities: Sequence[Array], figures: Sequence[float] | Array) -> Array:
        """Return the point with these densities of each class and these target's figures, cm.

        For a line-up without free dimensions.
        """
        x = np.zeros(self.count)
        for places, own in zip(self.poured, densities, strict=True):
            x[places] = own
        x[self.figures :] = figures
        return x

    def scatter(self, k: int, gradient: Array | None, by_figure: Array | None = None) -> Array:
        """Return rows (…, c) over all columns from gradients of a ball of class `k`.

        They are in its densities (…, n), or in those and its free dimensions (…, n + d).
        """
        row = np.zeros(self.count if gradient is None else (*gradient.shape[:-1], self.count))
        if gradient is not None:
            # a ball's parts may be tied: what falls on one column adds up
            np.add.at(row.T, self.of(k)[: gradient.shape[-1]], gradient.T)
        if by_figure is not None:
            row[..., self.figures :] = by_figure
        return row

    def densities(self, k: int, x: Array) -> Array:
        """Return the densities (n,) of class `k`."""
        return np.asarray(x[self.poured[k]])

    def alone(self, k: int) -> Flags:
        """Return which densities (n,) of class `k` no other class has."""
        users = np.bincount(np.concatenate(self.poured), minlength=self.count)
        return np.asarray(users[self.poured[k]] == 1)

    def dimensions(self, k: int, x: Array) -> Array:
        """Return the free dimensions (d,) of class `k`, cm."""
        return np.asarray(x[self.drawn[k]])

    def target(self, x: Array) -> Array:
        """Return the target's figures, cm."""
        return np.asarray(x[self.figures :])


_Key = tuple[str, str]
"""A column's name, and the first of the weights that share it."""


GOAL: Final[_Key] = "goal", ""


class _Column(NamedTuple):
    """The bounds of one column, its start and the unit of a distance from there."""

    lower: float
    upper: float
    middle: float
    spread: float


def columns(maps: Sequence[LinearMap], sharing: Sharing, sought: Sought | None = None) -> Columns:
    """Return the columns of these weight classes; a shared density has one column.

    The end of a bound that is `sought` has one after the densities, in which no ball is poured.
    """
    every: dict[_Key, _Column] = {}

    def places(own: Iterable[tuple[_Key, _Column]]) -> Places:
        """Return the indices of a weight's columns, adding those that are new."""
        keys = []
        for key, column in own:
            every.setdefault(key, column)
            keys.append(key)
        number = {key: i for i, key in enumerate(every)}
        return np.array([number[key] for key in keys], dtype=np.intp)

    poured = tuple(places(_densities(linear_map, sharing)) for linear_map in maps)
    if sought is not None and sought.extra:
        every[GOAL] = _Column(sought.low, sought.high, sought.start, 0.0)
    moulds = len(every)
    drawn = tuple(places(_dimensions(linear_map)) for linear_map in maps)
    figures, target = len(every), maps[0].target
    spans = [
        _Column(span.low, span.high, (span.low + span.high) / 2, span.high - span.low)
        for span in target.values()
    ]
    numbers = zip(*every.values(), *spans, strict=True)
    return Columns(poured, drawn, moulds, figures, *map(frozen, numbers))


def _densities(linear_map: LinearMap, sharing: Sharing) -> Iterator[tuple[_Key, _Column]]:
    """Yield a weight's densities."""
    for pour in linear_map.pours:
        ends = (pour.low, pour.high) if pour.fixed else (min(pour.low, LIGHTEST), HEAVIEST)
        middle, spread = (pour.low + pour.high) / 2, pour.high - pour.low
        group = _group(linear_map.label, sharing.get(pour.part, ()))
        yield (f"part {pour.part}", group), _Column(*ends, middle, spread)


def _dimensions(linear_map: LinearMap) -> Iterator[tuple[_Key, _Column]]:
    """Yield a weight's free dimensions."""
    for free in linear_map.free:
        key = f"dimension {free.name}", _group(linear_map.label, free.groups)
        yield key, _Column(free.low, free.high, free.start, free.span)


def _group(label: str, groups: Sequence[Sequence[str]]) -> str:
    """Return the first label of the group that `label` is in, or `label` itself."""
    return next((group[0] for group in groups if label in group), label)


def coupled(maps: Sequence[LinearMap], sharing: Sharing) -> Iterator[tuple[int, ...]]:
    """Yield the groups of coupled classes; each group is solved by itself.

    Classes are coupled by a shared density or dimension that isn't fixed, and by a free target.
    """
    if not all(span.fixed for span in maps[0].target.values()):
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
