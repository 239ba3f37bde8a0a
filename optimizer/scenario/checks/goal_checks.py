"""Whether anything is free to reach a goal, and whether costs can be compared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from optimizer.ball.sought import Pour
from optimizer.mixing.recipe import Recipe
from optimizer.scenario.checks.mistakes import Mistake
from optimizer.scenario.goals import COST, Goal
from optimizer.scenario.text.scenario_text import ScenarioText


def idle_goals(text: ScenarioText, goal: Goal | None) -> Iterator[Mistake]:
    """Yield room that is to be kept though nothing is sought: a warning."""
    if goal is None and text.goal is not None and text.goal.keep:
        yield Mistake(("goal", "keep"), "is not used: no number is sought")


def vain_goals(
    goal: Goal | None, poured: Sequence[Pour], known: Mapping[str, Recipe], *, opened: bool
) -> Iterator[Mistake]:
    """Yield why a goal can't be sought; `opened`: some dimension is free."""
    if goal is None:
        return
    if goal.path == COST and opened:
        what = "can't be sought while a dimension is free: costs are compared with one mould"
        yield Mistake(COST, what, "give the dimension a value", shown=False)
    elif goal.path == COST and (why := _without_price(poured, known)):
        yield Mistake(COST, f"can't be sought: {why}", "every pour needs a price", shown=False)
    if not opened and all(pour.low == pour.high for pour in poured):
        what = "is sought, but no density and no dimension is free to reach it"
        yield Mistake(goal.path, what, "give a material a range of densities", shown=False)


def _without_price(pours: Sequence[Pour], known: Mapping[str, Recipe]) -> str | None:
    """Return why pours' costs can't be compared, if they can't."""
    for pour in pours:
        recipe = known.get(pour.material)
        if recipe is None:
            return f'material "{pour.material}" has no recipe, so no price is known of it'
        if recipe.blended:
            return f'material "{pour.material}" is a blend whose share is open'
        unpriced = [each.name for each in recipe.ingredients if each.price is None]
        if unpriced:
            return f'"{unpriced[0]}" has no price'
    return None
