"""The numbers that may be moved in a scenario, one at a time."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from optimizer.ball.bounds import Bound, named
from optimizer.ball.figures import DENSITY, WEIGHT, Quantity
from optimizer.ball.sought import Pour
from optimizer.lineup.rows import Lineup
from optimizer.mixing.pourability import MOST_LOADING, MOST_VISCOSITY
from optimizer.mixing.recipe import Recipe
from optimizer.scenario import Scenario
from shared.models import Path

UNDECLARED = 1.0
"""Used where no tolerance is declared, in the quantity's own unit."""


@dataclass(frozen=True)
class Move:
    """One number of the scenario that may be moved: from `value`, up (1), down (-1) or both (0).

    `loosens` is how far one unit of the move moves each bound; `links` are columns that move along,
    from the values asked for. It moves by at most `most`, and between `low` and `high`. `bound` has
    the number for its value, None for a recipe's limit or a dimension.

    Where a `recipe`'s limit stops a range, `value` is that limit and the move is in `most_filler`:
    both ends of the range are linear in it.
    """

    name: str
    about: str | None
    path: Path
    value: float
    way: int
    quantity: Quantity
    tolerance: float | None
    loosens: Mapping[Bound, float] = field(default_factory=dict)
    links: Mapping[int, float] = field(default_factory=dict)
    most: float = math.inf
    low: float = -math.inf
    high: float = math.inf
    recipe: Recipe | None = None
    bound: Bound | None = None

    def linked(self, *columns: int) -> Move:
        """Return the move with the columns that hold its number."""
        return replace(self, links=dict.fromkeys(columns, self.value))

    @property
    def ends(self) -> tuple[float, float]:
        """The least and the greatest amount of the move."""
        if self.way:
            return 0.0, self.most
        return max(-self.most, self.low - self.value), min(self.most, self.high - self.value)

    def size(self, amount: float) -> float:
        """Return what a move by `amount` is in tolerances."""
        return abs(amount) / (self.tolerance or UNDECLARED)


def moves(scenario: Scenario, lineup: Lineup) -> Iterator[Move]:
    """Yield the moves of `scenario`, all of whose weights are in `lineup`, in file order.

    They are of targets, class weights, densities that can be poured, and the shop's limits. The
    rulebook is fixed, and walls are changed on the drawing.
    """
    first = lineup.maps[0]
    for column, (figure, span) in enumerate(scenario.target.items(), lineup.columns.figures):
        if span.fixed:
            bound = first.target_of(figure)
            yield _moving(bound, None, bound.path, 0).linked(column)
    for linear_map in lineup.maps:
        bound = linear_map.target_of(WEIGHT)
        path = bound.path
        if isinstance(scenario.source_value(path), dict):
            path = (*path, "target")
        yield _moving(bound, linear_map.label, path, 0, [bound])
    yield from _pours(scenario, lineup)
    yield from _limits(scenario, lineup)


def _moving(
    bound: Bound, about: str | None, path: Path, way: int, loosened: Iterable[Bound] = ()
) -> Move:
    """Return the move of the value of a bound, which also moves the bounds `loosened`."""
    loosens, figure = dict.fromkeys(loosened, float(way or 1)), bound.figure
    numbers = bound.value, way, figure.quantity, bound.tolerance
    return Move(bound.words, about, path, *numbers, loosens, bound=bound)


def _pours(scenario: Scenario, lineup: Lineup) -> Iterator[Move]:
    """Yield each end of each material's range, its fixed density, or its recipe's limit."""
    for name in dict.fromkeys(pour.material for pour in scenario.pours):
        pours = [pour for pour in scenario.pours if pour.material == name]
        first = pours[0]
        own = [b for linear_map in lineup.maps for b in linear_map.bounds if b.path == first.path]
        if not own:
            continue
        if first.recipe is not None and first.path[-1] == "recipe":
            yield from _mixed(first.recipe, first, own)
        elif first.fixed:
            columns = (c for pour in pours for c in lineup.pouring(pour.part).values())
            move = _moving(own[0], name, (*first.path[:-1], "density"), 0).linked(*columns)
            yield replace(move, name=DENSITY.words)
        else:
            for end, (side, way) in enumerate((("min", -1), ("max", 1))):
                same = [bound for bound in own if bound.side == side]
                yield _moving(same[0], name, (*first.path, end), way, same)


def _mixed(recipe: Recipe, first: Pour, own: Sequence[Bound]) -> Iterator[Move]:
    """Yield the limit of a recipe, where a filler at that limit sets an end of its range."""
    rates = [recipe.rate(end) for end in recipe.ends]
    if not any(rates):
        return
    key = "loading" if recipe.viscosity is None else "viscosity"
    thickest = (recipe.packing or MOST_LOADING) if recipe.viscosity is None else MOST_VISCOSITY
    by_side = {"min": -rates[0], "max": rates[1]}
    loosens = {bound: rate for bound in own if (rate := by_side.get(bound.side))}
    yield Move(
        key,
        first.material,
        (*first.path, key),
        recipe.limit,
        1,
        "ratio",
        None if first.tolerance is None else first.tolerance / max(rates),
        loosens,
        most=recipe.limited(thickest).most_filler - recipe.most_filler,
        recipe=recipe,
    )


def _limits(scenario: Scenario, lineup: Lineup) -> Iterator[Move]:
    """Yield the bounds under [limits] that depend on density: top weight, pin distance, step."""
    by_path: dict[Path, list[Bound]] = {}
    for linear_map in lineup.maps:
        for bound in linear_map.bounds:
            if bound.held(linear_map) and bound.path[0] == "limits" and bound.rule is None:
                by_path.setdefault((*bound.path, bound.side), []).append(bound)
    for path, same in by_path.items():
        if scenario.source_value(path) is not None:
            way = -1 if path[-1] == "min" else 1
            own = {named(bound.of, "") for bound in same}
            yield _moving(same[0], own.pop() if len(own) == 1 else None, path, way, same)
