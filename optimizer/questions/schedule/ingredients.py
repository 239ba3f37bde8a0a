"""The recipes that a schedule counts on: ingredients, losses, and the limits on a mix."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal

from optimizer.mixing.recipe import Recipe
from optimizer.paper.document import Block, Listed, Notes, Table
from optimizer.paper.words import listed, plural
from optimizer.questions.schedule.casting import NONE
from optimizer.questions.schedule.pouring.scales import as_written
from optimizer.questions.schedule.pouring.schedule import Schedule
from shared.rounding import fixed, rounded


def ingredient_table(schedule: Schedule) -> Table:
    """Return what the line takes of each ingredient, with its cost where all have a price."""
    density, total = schedule.units.density, defaultdict[str, Decimal](Decimal)
    for casting in schedule.castings:
        for line in casting.batch.lines:
            total[line.ingredient] += line.grams * casting.batch.count
    known = {each.name: each for mix in schedule.mixes for each in mix.recipe.ingredients}

    def counted(name: str) -> str:
        return plain(known[name].density / density.factor) if name in known else NONE

    table = (
        Listed([*total])
        .left("ingredient", str)
        .right(f"counted as, {density.name}", counted)
        .right(
            f"{plural(schedule.balls, 'ball')} of each weight take, g",
            lambda name: str(total[name]),
        )
    )
    prices = {name: known[name].price if name in known else None for name in total}
    if None in prices.values():
        return table.table
    by_kilo = {name: Decimal(plain(price or 0.0)) for name, price in prices.items()}
    costs = {name: rounded(grams * by_kilo[name] / 1000, 2) for name, grams in total.items()}
    priced = table.right("price of a kg", lambda name: str(by_kilo[name]))
    priced = priced.right("cost", lambda name: str(costs[name]))
    whole = ("whole line", "", str(sum(total.values())), "", str(sum(costs.values())))
    return Table(priced.columns, (*priced.table.rows, whole))


def recipe_tables(schedule: Schedule) -> Iterator[Block]:
    """Yield each material's recipe as counted on, its limits, and the sources of its densities."""
    recipes = {
        pour.material: casting.batch.mix.recipe
        for weight in schedule.classes
        for casting, pour in zip(weight.castings, weight.sheet.pours, strict=True)
        if casting.batch.mix is not None
    }
    if not recipes:
        return
    density = schedule.units.density

    def cured(recipe: Recipe) -> str:
        return " to ".join(dict.fromkeys(map(density.number, recipe.cured)))

    def viscosity(recipe: Recipe) -> str:
        return NONE if recipe.viscosity is None else plain(recipe.viscosity)

    yield (
        Listed([*recipes.items()])
        .left("material", lambda item: item[0])
        .left("resin", lambda item: listed([stock.name for stock in item[1].stocks]))
        .right(f"resin cured, {density.name}", lambda item: cured(item[1]))
        .right("its shrinkage, by volume", lambda item: plain(item[1].shrinkage))
        .right("voids, by volume", lambda item: plain(item[1].void))
        .right("most solids, by volume of liquid", lambda item: fixed(item[1].loading, 3))
        .right("most viscosity, × the resin's", lambda item: viscosity(item[1]))
        .table
    )
    sources: dict[str, dict[str, None]] = {}
    for recipe in recipes.values():
        for ingredient in recipe.ingredients:
            sources.setdefault(ingredient.source, {})[ingredient.name] = None
    yield Notes(tuple(f"{listed([*names])}: {source}" for source, names in sources.items()))


def plain(value: float) -> str:
    """Return a figure of the scenario as it is written."""
    return f"{as_written(value).normalize():f}"
