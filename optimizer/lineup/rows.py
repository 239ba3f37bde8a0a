"""The line-up's rows at a point: every limit and every target of every ball, from one source.

The same rows serve three questions. `margin_rows`: meet the targets and raise the margins; or, if
`within` tolerance is enough, keep the limits and raise what is left of each tolerance.
`nearest_rows`: keep the limits and reduce the distance to the targets.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.equations import Order
from optimizer.ball.linear_rows import LinearRow
from optimizer.ball.weight_class import Ball, LinearMap
from optimizer.lineup.band_rows import band_rows
from optimizer.lineup.bound_rows import bound_rows
from optimizer.lineup.columns import Columns, Sharing, columns, coupled
from optimizer.lineup.engine.climbing import Engine, RowsAt
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.goal_rows import Sought
from optimizer.lineup.result import LineupResult
from optimizer.lineup.target_rows import SORTED, target_rows
from optimizer.scenario.goals import Goal
from shared.arrays import Array


@dataclass(frozen=True, eq=False)
class Lineup:
    """Weight classes that are solved together, their columns, and the densities that they share.

    `within`: a ball may miss its class weight and target by the declared tolerances.
    `weight_kept`: the nearest line-up must have its class weights. Where a number is `sought`, it
    is raised in place of the margins.
    """

    maps: tuple[LinearMap, ...]
    columns: Columns
    sharing: Sharing = field(default_factory=dict)
    within: bool = False
    weight_kept: bool = True
    sought: Sought | None = None

    @classmethod
    def of(cls, maps: Sequence[LinearMap], sharing: Sharing, goal: Goal | None = None) -> Lineup:
        """Return these weight classes as one line-up, with their columns."""
        sought = None if goal is None else Sought.of(goal, maps)
        return cls(tuple(maps), columns(maps, sharing, sought), sharing, sought=sought)

    @classmethod
    def groups(
        cls, maps: Sequence[LinearMap], sharing: Sharing, goal: Goal | None = None
    ) -> list[Lineup]:
        """Return a line-up for each group of coupled classes."""
        return [cls.of([maps[k] for k in group], sharing, goal) for group in coupled(maps, sharing)]

    @property
    def labels(self) -> tuple[str, ...]:
        """The labels of the weight classes."""
        return tuple(linear_map.label for linear_map in self.maps)

    def pouring(self, part: str) -> dict[str, int]:
        """Return the column of a part's density in each weight that has the part, by label."""
        pairs = zip(self.maps, self.columns.poured, strict=True)
        return {
            linear_map.label: int(x[linear_map.places[part]])
            for linear_map, x in pairs
            if part in linear_map.places
        }

    def drawing(self, dimension: str) -> dict[str, int]:
        """Return the column of a free dimension in each weight that has it, by label."""
        pairs = zip(self.maps, self.columns.drawn, strict=True)
        every = (
            (linear_map.label, *pair)
            for linear_map, x in pairs
            for pair in zip(linear_map.free, x, strict=True)
        )
        return {label: int(column) for label, free, column in every if free.name == dimension}

    def starting(self, densities: Array) -> Lineup:
        """Return this line-up with a search that starts at `densities` (columns)."""
        middle = np.r_[densities[: self.columns.figures], self.columns.target(self.columns.middle)]
        return replace(self, columns=replace(self.columns, middle=middle))

    def point_of(self, result: LineupResult) -> Array:
        """Return the columns of a result's balls; no dimension may be free."""
        densities = {weight.label: weight.ball.densities for weight in result.weights}
        return self.columns.filled([densities[label] for label in self.labels], result.figures)

    def carried(self, other: Lineup, y: Array, x: Array | None = None) -> Array:
        """Return `x` (by default mid-range) with the weights of an `other` line-up set as there.

        `y` are the columns of the other line-up, from which the target's figures come too.
        """
        x = (self.columns.middle if x is None else x).copy()
        for k, label in enumerate(self.labels):
            if label in other.labels:
                x[self.columns.of(k)] = y[other.columns.of(other.labels.index(label))]
        x[self.columns.figures :] = other.columns.target(y)
        return x

    def engine(self, solver: LinearSolver, rows_at: RowsAt | None = None, **how: Any) -> Engine:
        """Return the engine that climbs by `rows_at`, by default `margin_rows`; `how` sets it."""
        at, of = rows_at or self.margin_rows, self.columns
        return Engine(at, of.lower, of.upper, of.middle, of.spread, solver, **how)

    def rows(self, x: Array, orders: Sequence[Order] | None = None) -> Rows:
        """Return the `margin_rows` at `x`, stacked."""
        return Rows.of(self.margin_rows(x, orders))

    def balls(self, x: Array) -> Iterator[Ball]:
        """Yield the ball of each weight class at the columns `x`.

        Raises UnbuildableError if a mould can't be made.
        """
        for k, linear_map in enumerate(self.maps):
            mould = linear_map.at(self.columns.dimensions(k, x))
            yield mould.ball(self.columns.densities(k, x))

    def margin_rows(self, x: Array, orders: Sequence[Order] | None = None) -> list[LinearRow]:
        """Return the rows at `x`: targets as equations, limits as margins to raise.

        Within tolerance: limits to keep, and what is left of each tolerance to raise.
        """
        balls = list(self.balls(x))
        return self.rows_of(balls, x, orders or [SORTED] * len(balls))

    def rows_of(
        self, balls: Sequence[Ball], x: Array, orders: Sequence[Order], *, kept: bool = False
    ) -> list[LinearRow]:
        """Return the `margin_rows` at `x`, whose `balls` are measured already.

        With `kept`, limits are to be kept, their slack in tolerances.
        """
        rows: list[LinearRow] = []
        kept = kept or (self.sought is not None and self.sought.raised)
        for k, (ball, order) in enumerate(zip(balls, orders, strict=True)):
            if self.within:
                rows += self._limit_rows(k, ball, x, kept=True)
                rows += band_rows(self.columns, k, ball, x, 1.0)
            else:
                rows += target_rows(self.columns, k, ball, x, order)
                rows += self._limit_rows(k, ball, x, kept=kept)
        rows = self._distinct(rows)
        return rows if self.sought is None else self.sought.rows(rows, self.goal_column)

    @cached_property
    def goal_column(self) -> int:
        """The column of the number that is sought; ValueError if there is none."""
        if self.sought is None:
            raise ValueError("no number is sought")
        name = self.sought.goal.name
        if self.sought.extra:
            return self.columns.moulds - 1
        figures = [figure.key for figure in self.maps[0].target]
        if self.sought.goal.path[0] == "target":
            return self.columns.figures + figures.index(name)
        return next(iter(self.drawing(name).values()))

    def nearest_rows(self, x: Array) -> list[LinearRow]:
        """Return the rows at `x`: limits to keep, and negated distances to the targets to raise.

        A class weight to keep is an equation; otherwise its distance counts like the others.
        """
        rows: list[LinearRow] = []
        for k, ball in enumerate(self.balls(x)):
            rows += self._limit_rows(k, ball, x, kept=True)
            rows += band_rows(self.columns, k, ball, x, 0.0, weight_kept=self.weight_kept)
        return self._distinct(rows)

    def _limit_rows(self, k: int, ball: Ball, x: Array, *, kept: bool) -> Iterator[LinearRow]:
        """Yield the limits of class `k` as rows to keep, or as margins to raise.

        Those on linear figures are made once.
        """
        if (k, kept) not in self._steady:
            self._steady[k, kept] = [
                tuple(bound_rows(self.columns, k, bound, ball, x, kept=kept))
                if bound.figure.linear
                else bound
                for bound in self._bounds[k]
            ]
        for of in self._steady[k, kept]:
            yield from (
                bound_rows(self.columns, k, of, ball, x, kept=kept) if isinstance(of, Bound) else of
            )

    @cached_property
    def _steady(self) -> dict[tuple[int, bool], list[tuple[LinearRow, ...] | Bound]]:
        """For each class, kept or raised: the rows of a linear figure's bound, or the bound."""
        return {}

    @cached_property
    def _bounds(self) -> tuple[tuple[Bound, ...], ...]:
        """For each class the bounds that the solver must keep."""
        return tuple(
            tuple(b for b in linear_map.bounds if b.held(linear_map)) for linear_map in self.maps
        )

    def _distinct(self, rows: list[LinearRow]) -> list[LinearRow]:
        """Drop copies: one limit on a density or mould that several weights share.

        They are alike at every point, so that rows keep their numbers. A whole ball's row is never
        a copy, whatever it equals at one point; nor is one without slope, which shares nothing.
        """
        if len(self.maps) == 1 and not self.maps[0].free:
            return rows
        seen = dict[object, LinearRow]()
        for row in rows:
            key, of = object(), row.name.of
            if isinstance(of, Bound) and of.of is not None and row.coefficients.any():
                ends = (row.lower, row.upper, row.tolerance)
                key = (of.everywhere, row.name.way, row.coefficients.tobytes(), ends)
            seen.setdefault(key, row)
        return list(seen.values())
