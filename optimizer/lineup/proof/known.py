"""What is known of a line-up as linear figures: the columns of an outer relaxation.

Columns: densities, p of each class, the RGs that the line shares, squared.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from math import isfinite
from types import MappingProxyType

import numpy as np

from optimizer.ball.figures import DENSITY, INTERMEDIATE_DIFFERENTIAL, RADII, WEIGHT
from optimizer.ball.targets import Span
from optimizer.lineup.proof.affine import Affine, Range
from optimizer.lineup.proof.boxes import Figures, offset_range
from optimizer.lineup.proof.question import class_limits
from optimizer.lineup.rows import Lineup
from shared.arrays import Array

NONE: Mapping[int, float] = MappingProxyType({})
"""No steps."""


class Known:
    """What is asked of a line-up, and its figures as rows over the columns.

    Each class's figures are divided by its class weight: m is 1 if that is met. `maps`, `limits`,
    `spans`, `tolerances` and `offset` are what is asked; `mass`, `inertias`, `masses` and `most`,
    one for each class, what is known of it.
    """

    OWN = 0
    """Columns that each class has besides."""
    aligned = True
    """Whether all parts stand on the pin axis."""

    def __init__(
        self,
        lineup: Lineup,
        level: float = 0.0,
        share: float = 1.0,
        steps: Mapping[int, float] = NONE,
    ) -> None:
        self.lineup, self.maps, self.n = lineup, lineup.maps, lineup.columns.figures
        self.level, self.steps, within = level, steps, share * lineup.within
        self.limits = tuple(
            limit
            for k, one in enumerate(self.maps)
            for limit in class_limits(k, one, within * (one.mass_tolerance or 0.0))
        )
        self.count = self.n + len(self.maps) * (1 + self.OWN) + 3
        target = self.maps[0].target
        if not target or any(linear_map.free for linear_map in self.maps):
            raise ValueError("what is proven is of a target and of a mould that are given")
        self.asked = INTERMEDIATE_DIFFERENTIAL in target
        self.spans = tuple(target.get(figure, Span(0.0, 0.0)) for figure in RADII)
        self.tolerances = [within * (span.tolerance or 0.0) for span in self.spans]
        self.offset = offset_range(target, within)
        self.mass = tuple(self._figure(k, one.volumes) for k, one in enumerate(self.maps))
        self.inertias = tuple(self._inertias(k) for k in range(len(self.maps)))
        self.masses = tuple(self._masses(k) for k in range(len(self.maps)))
        self.most = tuple(self._most(k) for k in range(len(self.maps)))

    @cached_property
    def densities(self) -> Array:
        """The ranges (n, 2) of the densities; where they have limits, no wider than these."""
        ends = np.column_stack(self.lineup.columns.box)[: self.n]
        for limit in self.limits:
            if limit.bound.figure == DENSITY:
                j = self.lineup.columns.poured[limit.k][limit.parts[0]]
                ends[j] = max(ends[j, 0], limit.low), min(ends[j, 1], limit.high)
        return ends

    def shared(self, figures: Figures) -> Figures:
        """Return the ranges of the RGs that the line shares, cm. None is negative."""
        (low, high), (near, far), (least, most) = figures
        middle = (max(0.0, low + near - most), max(0.0, high + far - least))
        return (low, high), middle, (low + near, high + far)

    def own(self, k: int, figures: Figures) -> Figures:
        """Return the ranges of low RG, differential and intermediate differential of class `k`, cm.

        0 ≤ intermediate differential ≤ differential, and a limit may hold it closer.
        """
        low, apart, inner = (
            (max(0.0, a - tolerance), b + tolerance)
            for (a, b), tolerance in zip(figures, self.tolerances, strict=True)
        )
        least, most = inner if self.asked else (0.0, np.inf)
        return low, apart, (least, min(most, apart[1], self.most[k]))

    def first(self, k: int, axis: int = 2) -> Affine:
        """Return the first moment along an axis (2: the pin's), cm."""
        return self._figure(k, self.maps[k].moments[:, axis, 3])

    def _masses(self, k: int) -> Range:
        """Return the range of m: the class weight, or what densities of solids allow."""
        linear_map, columns = self.maps[k], self.lineup.columns
        row, mass = self.mass[k].row[: self.n], linear_map.mass
        low, high = (float(row @ ends[: self.n]) for ends in columns.box)
        mine = [limit for limit in self.limits if limit.k == k and limit.bound.figure == WEIGHT]
        least, most = [limit.low / mass for limit in mine], [limit.high / mass for limit in mine]
        return max(filter(isfinite, least), default=low), min(filter(isfinite, most), default=high)

    def _most(self, k: int) -> float:
        """Return the limit on the intermediate differential, less its room, or inf."""
        limits = (limit.bound for limit in self.limits if limit.k == k)
        ends = (
            bound.high - self.level * (bound.tolerance or 0.0)
            for bound in limits
            if bound.figure == INTERMEDIATE_DIFFERENTIAL
        )
        return min(ends, default=np.inf)

    def _inertias(self, k: int) -> list[Affine]:
        """Return the principal inertias, cm², as `orders` number them: about x, y and z."""
        linear_map, inertias = self.maps[k], []
        for a in range(3):
            P = np.zeros((4, 4))
            P[:3, :3] = np.diag(np.arange(3) != a)
            inertia = self._figure(k, linear_map.pull(P))
            if linear_map.about == "cg" and a < 2:
                inertia.row[self.n + k] = -1.0
            inertias.append(inertia)
        return inertias

    def _figure(self, k: int, by_density: Array) -> Affine:
        mass = self.maps[k].mass
        return Affine(self._row(k, by_density / mass), scale=1.0 / mass)

    def _row(self, k: int, by_density: Array) -> Array:
        own = self.lineup.columns.scatter(k, by_density)[: self.n]
        return np.concatenate([own, np.zeros(self.count - self.n)])

    def _column(self, j: int) -> Affine:
        return Affine(np.eye(self.count)[j])
