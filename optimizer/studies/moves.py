"""What may be moved in a scenario, one thing at a time, and the least move that makes it do."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from optimizer.linear.maps import Pour
from optimizer.linear.rows import LinearRow, Margin, Quantity
from optimizer.linear.targets import KEYS, NAMES
from optimizer.lineup.engine import Engine, Peak
from optimizer.lineup.margins import margins
from optimizer.lineup.rows import PRICE, Lineup, Order, row_names
from optimizer.lineup.search import Round, first_rounds
from optimizer.lineup.solve import LinearSolver, Rows
from optimizer.mixing import MOST_LOADING, MOST_VISCOSITY, Recipe
from optimizer.scenario import Scenario
from optimizer.scenario.positions import Path
from shared.arrays import Array

SHORT = 40
"""Linear programs in one climb: a move that does is found in a few."""
UNDECLARED = 1.0
"""Stands for a tolerance that isn't declared, in the quantity's own unit."""


@dataclass(frozen=True)
class Move:
    """One number of the scenario that may be moved: from `value`, up (1), down (-1) or both (0).

    `loosens` is what one unit of the move gives to each row by its label; `links` are columns that
    move along, from the value that they are asked to have. It can move by `most`, and between
    `low` and `high`.

    Where a `recipe` is stopped by what it can hold, `value` is its limit and the move is one of its
    `most_filler`, in which both ends of its range are linear.
    """

    name: str
    about: str | None
    path: Path
    value: float
    way: int
    quantity: Quantity
    tolerance: float | None
    loosens: Mapping[str, float] = field(default_factory=dict)
    links: Mapping[int, float] = field(default_factory=dict)
    most: float = math.inf
    low: float = -math.inf
    high: float = math.inf
    recipe: Recipe | None = None

    def linked(self, column: int) -> Move:
        """Return the move of what stands in a column."""
        return replace(self, links={column: self.value})

    @property
    def ends(self) -> tuple[float, float]:
        """The least and the greatest amount it can move by."""
        if self.way:
            return 0.0, self.most
        return max(-self.most, self.low - self.value), min(self.most, self.high - self.value)

    def size(self, amount: float) -> float:
        """Return what a move by `amount` is in tolerances."""
        return abs(amount) / (self.tolerance or UNDECLARED)


def moves(scenario: Scenario, lineup: Lineup, x: Array) -> Iterator[Move]:
    """Yield all that may be moved in `scenario`, whose weights are all in `lineup`, in file order.

    Targets, class weights, what can be poured, and the shop's limits; the rulebook isn't ours to
    move, and a mould's walls are moved on the drawing.
    """
    target = scenario.target
    if target is None:
        raise ValueError("a scenario without a target has nothing to mend")
    figures = zip(KEYS, NAMES, target.spans, target.tolerances, strict=False)
    for column, (key, name, span, tolerance) in enumerate(figures, lineup.columns.figures):
        if span.fixed:
            links = {column: span.low}
            yield Move(name, None, ("target", key), span.low, 0, "rg", tolerance, links=links)
    for one in lineup.maps:
        path: Path = ("weights", one.label)
        if isinstance(scenario.source_value(path), dict):
            path = (*path, "target")
        name = f"{one.label}: weight"
        gives = {name: -1.0 / one.mass, f"{name} low": -1.0, f"{name} high": 1.0}
        yield Move("class weight", one.label, path, one.mass, 0, "mass", one.mass_tolerance, gives)
    yield from _pours(scenario, lineup)
    yield from _limits(scenario, lineup, x)


def _pours(scenario: Scenario, lineup: Lineup) -> Iterator[Move]:
    """Yield each end of each material's range, its one density, or what its recipe can hold."""
    for name in dict.fromkeys(pour.material for pour in scenario.pours):
        some = [pour for pour in scenario.pours if pour.material == name]
        path: Path = ("materials", name, "density")
        first = some[0]
        if first.recipe is not None and scenario.source_value(path) is None:
            yield from _mixed(first.recipe, some, lineup)
            continue
        if first.fixed:
            links = {
                column: first.low for pour in some for column in lineup.pouring(pour.part).values()
            }
            yield Move("density", name, path, first.low, 0, "density", first.tolerance, links=links)
            continue
        for end, (side, value, way) in enumerate(
            (("density min", first.low, -1), ("density max", first.high, 1))
        ):
            gives = {
                f"{one.label}: {pour.part} {side}": 1.0 for one in lineup.maps for pour in some
            }
            yield Move(side, name, (*path, end), value, way, "density", first.tolerance, gives)


def _mixed(recipe: Recipe, some: Sequence[Pour], lineup: Lineup) -> Iterator[Move]:
    """Yield the limit of a recipe, where a filler at that limit stops an end of its range."""
    rates = [recipe.rate(end) for end in recipe.ends]
    if not any(rates):
        return
    key = "loading" if recipe.viscosity is None else "viscosity"
    thickest = (recipe.packing or MOST_LOADING) if recipe.viscosity is None else MOST_VISCOSITY
    gives = {
        f"{one.label}: {pour.part} {side}": rate
        for one in lineup.maps
        for pour in some
        for side, rate in zip(("density min", "density max"), rates, strict=True)
        if rate
    }
    first = some[0]
    yield Move(
        key,
        first.material,
        ("materials", first.material, "recipe", key),
        recipe.limit,
        1,
        "ratio",
        None if first.tolerance is None else first.tolerance / max(rates),
        gives,
        most=recipe.limited(thickest).most_filler - recipe.most_filler,
        recipe=recipe,
    )


def _limits(scenario: Scenario, lineup: Lineup, x: Array) -> Iterator[Move]:
    """Yield the bounds under [limits] that a density can meet: top weight, pin distance, step."""
    found: dict[str, list[Margin]] = {}
    parts = {part.name for one in lineup.maps for part in one.parts}
    for ball in lineup.balls(x):
        for margin in margins(ball, lineup.limits):
            if margin.movable and not margin.rule_only and margin.part not in parts:
                found.setdefault(margin.limit, []).append(margin)
    for limit, same in found.items():
        words = limit.split()
        path: Path = ("limits", "_".join(words[:-1]), words[-1])
        if scenario.source_value(path) is None:
            continue
        gives = {name: 1.0 for margin in same for name in row_names(margin)}
        way = -1 if words[-1] == "min" else 1
        first = same[0]
        yield Move(limit, None, path, first.bound, way, first.quantity, first.tolerance, gives)


def loosened(lineup: Lineup, some: Sequence[Move], solver: LinearSolver) -> Engine:
    """Return the program that keeps the moves `some` small, each a column after the line-up's."""
    columns, count = lineup.columns, len(some)
    lower, upper = columns.lower.copy(), columns.upper.copy()
    for move in some:
        for column in move.links:
            if not columns.moulds <= column < columns.figures:  # a dimension keeps to its range
                lower[column], upper[column] = min(0.01, move.value / 4), 4.0 * move.value + 25.0
    ends = [move.ends for move in some]
    return Engine(
        _rows_at(lineup, some),
        np.concatenate([lower, [low for low, _ in ends]]),
        np.concatenate([upper, [high for _, high in ends]]),
        np.concatenate([columns.middle, np.zeros(count)]),
        np.concatenate([columns.spread, np.zeros(count)]),
        solver,
        passes=SHORT,
    )


def first_programs(
    lineup: Lineup, some: Sequence[Move], starts: Sequence[Array]
) -> Iterator[tuple[Array, Rows]]:
    """Yield where a search starts, nothing moved yet, and the rows there.

    `starts`, then mid-range with each choice of axes.
    """
    rows_at, still = _rows_at(lineup, some), np.zeros(len(some))
    plain: Round = [(x, None) for x in starts]
    for x, orders in itertools.chain(plain, *first_rounds(lineup)):
        y = np.concatenate([x, still])
        yield y, Rows.of(rows_at(y, orders))


def least_moves(
    lineup: Lineup, some: Sequence[Move], starts: Sequence[Array], solver: LinearSolver
) -> tuple[float, ...] | None:
    """Return how far each of `some` must move, as little as will do, or None if that isn't enough.

    The largest move, in tolerances, is least. In internal units, signed; limits are held to their
    edge and targets are met exactly.
    """
    engine = loosened(lineup, some, solver)
    peaks = [engine.climb(y, rows) for y, rows in first_programs(lineup, some, starts)]
    good = [peak for peak in peaks if peak.meets_targets]
    if not good:
        return None
    best: Peak = max(good, key=lambda peak: peak.level)
    if len(some) > 1:
        best = engine.evenly_out(best)
    return tuple(float(d) for d in best.x[lineup.columns.count :])


def _rows_at(lineup: Lineup, some: Sequence[Move]) -> Callable[..., list[LinearRow]]:
    """Return the rows' function: limits held, loosened by the moves; the moves to be kept small."""
    n, count = lineup.columns.count, len(some)

    def rows_at(y: Array, orders: Sequence[Order] | None = None) -> list[LinearRow]:
        rows = []
        for row in lineup.margin_rows(y[:n], orders):
            unit = row.tolerance or 1.0
            gives = np.array([move.loosens.get(row.label, 0.0) for move in some])
            wide = np.concatenate([row.coefficients, gives])
            price = PRICE if row.price is None else row.price
            rows.append(
                LinearRow(row.label, wide / unit, row.lower / unit, row.upper / unit, price=price)
            )
        for j, move in enumerate(some):
            one = np.zeros(n + count)
            one[n + j] = 1.0
            unit = move.tolerance or UNDECLARED
            rows.append(LinearRow(f"{move.name} up", -one, 0.0, np.inf, unit))
            if move.way == 0:
                rows.append(LinearRow(f"{move.name} down", one, 0.0, np.inf, unit))
            for column, value in move.links.items():
                link = -one
                link[column] += 1.0
                rows.append(LinearRow(f"{move.name} {column}", link, value, value, price=PRICE))
        return rows

    return rows_at
