"""Changes of a scenario's numbers as its file writes them: in its units, rounded outward."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from optimizer.ball.bounds import Bound, Margin
from optimizer.ball.figures import WALL
from optimizer.lineup.claims import Kind
from optimizer.mixing.recipe import Recipe
from optimizer.questions.why_not.changes.moves import Move
from optimizer.scenario import Scenario
from shared.models import Path

LIMITS = {"viscosity": 0.1, "loading": 0.001}
"""The step that a recipe's limit is rounded to, outward."""


@dataclass(frozen=True)
class Change:
    """One number (or sharing) changed: `value` and `to` as the file writes them, in its unit."""

    name: str
    about: str | None
    path: Path
    value: Any
    to: Any
    unit: str
    tolerances: float | None
    bound: Bound | None = None


def change(asked: Scenario, move: Move, amount: float, more: int) -> Change:
    """Return a move as the file would write it, rounded outward, `more` steps farther."""
    if move.recipe is not None:
        return _limit(move, move.recipe, amount, more)
    unit = asked.text.units.by(move.quantity)
    factor, step = unit.size, unit.step
    value = float(f"{move.value / factor:.12g}")
    signed = (move.way or 1) * amount / factor
    steps = math.copysign(
        math.ceil(abs(value + signed - round(value / step) * step) / step - 1e-6), signed
    )
    to = float(f"{(round(value / step) + steps + math.copysign(more, signed)) * step:.10g}")
    spread = None if move.tolerance is None else abs(to - value) * factor / move.tolerance
    return Change(move.name, move.about, move.path, value, to, unit.name, spread, move.bound)


def _limit(move: Move, recipe: Recipe, amount: float, more: int) -> Change:
    """Return a move of a recipe's filler as the limit that the file writes."""
    step, filler = LIMITS[move.name], recipe.most_filler
    steps = math.ceil(recipe.limit_for(filler + amount) / step - 1e-6) + more
    to = float(f"{steps * step:.10g}")
    gain = recipe.limited(to).most_filler - filler
    spread = None if move.tolerance is None else gain / move.tolerance
    return Change(move.name, move.about, move.path, move.value, to, "", spread)


def walls(asked: Scenario, broken: Sequence[Margin]) -> list[Change]:
    """Return wall limits lowered to what the drawing keeps, one for each bound in the file."""
    if any(margin.bound.figure != WALL or not margin.bound.path for margin in broken):
        return []
    unit = asked.text.units.by("length")
    factor, step = unit.size, unit.step
    changes: dict[Path, Change] = {}
    for margin in sorted(broken, key=lambda m: -m.value):
        bound = margin.bound
        to = float(f"{math.floor((bound.value + margin.slack) / factor / step) * step:.10g}")
        value = float(f"{bound.value / factor:.12g}")
        spread = None if bound.tolerance is None else (value - to) * factor / bound.tolerance
        path = (*bound.path, "min")
        changes[path] = Change(bound.words, None, path, value, to, unit.name, spread, bound)
    return list(changes.values())


def splits(asked: Scenario) -> Iterator[Change]:
    """Yield each way to split, part by part, weights that share a density in two groups."""
    for k, pour in enumerate(asked.pours):
        path: Path = ("parts", k, "same_density")
        was = [list(group) for group in asked.sharing[pour.part]]
        for g, group in enumerate([] if pour.fixed else was):
            for at in range(1, len(group)):
                halves = [group[:at], group[at:], *was[:g], *was[g + 1 :]]
                to = [half for half in halves if len(half) > 1] or "none"
                yield Change(Kind.SHARED.value, pour.part, path, was, to, "", None)
