"""The unknowns of a line-up: which column holds the density of which part in which weight."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

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
    """Densities first, then the target's figures (cm), a fixed figure with lower = upper.

    `place` (classes, parts) is the column of each density. `middle` is where a search starts.
    """

    place: npt.NDArray[np.intp]
    figures: int
    lower: Array
    upper: Array
    middle: Array
    spread: Array

    @property
    def count(self) -> int:
        """How many columns there are."""
        return len(self.lower)

    def scatter(self, k: int, by_density: Array | None, by_figure: Array | None = None) -> Array:
        """Return a row over all columns from a derivative in the densities of class `k`."""
        row = np.zeros(self.count)
        if by_density is not None:
            np.add.at(row, self.place[k], by_density)
        if by_figure is not None:
            row[self.figures :] = by_figure
        return row

    def densities(self, k: int, x: Array) -> Array:
        """Return the densities (n,) of class `k`."""
        return np.asarray(x[self.place[k]])

    def target(self, x: Array) -> Array:
        """Return the target's figures, cm."""
        return np.asarray(x[self.figures :])


def columns(maps: Sequence[LinearMap], sharing: Sharing) -> Columns:
    """Return the columns of these weight classes; densities that are shared have one column."""
    place = np.zeros((len(maps), len(maps[0].parts)), dtype=np.intp)
    seen: dict[tuple[str, str], int] = {}
    bounds: list[tuple[float, float, float, float]] = []
    for k, one in enumerate(maps):
        for i, pour in enumerate(one.pours):
            group = next((g for g in sharing.get(pour.part, ()) if one.label in g), (one.label,))
            key = (pour.part, group[0])
            if key not in seen:
                seen[key] = len(bounds)
                ends = (pour.low, pour.high) if pour.fixed else (LIGHTEST, HEAVIEST)
                bounds.append((*ends, (pour.low + pour.high) / 2, pour.high - pour.low))
            place[k, i] = seen[key]
    figures = len(bounds)
    target = maps[0].target
    bounds += [
        (span.low, span.high, (span.low + span.high) / 2, span.high - span.low)
        for span in (target.spans if target else ())
    ]
    lower, upper, middle, spread = (frozen(column) for column in zip(*bounds, strict=True))
    return Columns(place, figures, lower, upper, middle, spread)


def coupled(maps: Sequence[LinearMap], sharing: Sharing) -> Iterator[tuple[int, ...]]:
    """Yield the groups of classes that something ties together; each is solved alone.

    Classes are tied by a density that they share and is not fixed, and by a free target.
    """
    target = maps[0].target
    if target is not None and not all(span.fixed for span in target.spans):
        yield tuple(range(len(maps)))
        return
    free = {pour.part for pour in maps[0].pours if not pour.fixed}
    group = list(range(len(maps)))
    number = {one.label: k for k, one in enumerate(maps)}
    for part in free:
        for labels in sharing.get(part, ()):
            members = {group[number[label]] for label in labels if label in number}
            group = [min(members) if g in members else g for g in group]
    for name in dict.fromkeys(group):
        yield tuple(k for k, g in enumerate(group) if g == name)
