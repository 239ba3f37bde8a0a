"""The recipes that a schedule counts on: ingredients, losses, and what keeps a mix pourable."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from optimizer.mixing.recipe import Recipe
from optimizer.paper.document import Block, Column, Listed, Notes, Table, left
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, plural
from optimizer.questions.schedule.casting import NONE
from optimizer.questions.schedule.pouring.schedule import Schedule
from shared.rounding import fixed, rounded


def ingredient_table(schedule: Schedule) -> Table:
    """Return what the line takes of each ingredient, with its cost where all have a price."""
    density, total = Units.of(schedule.result.scenario).density, dict[str, Decimal]()
    for class_schedule in schedule.classes:
        for casting in class_schedule.castings:
            for line in casting.batch.lines:
                more = line.grams * casting.batch.count
                total[line.ingredient] = total.get(line.ingredient, Decimal(0)) + more
    known = {
        ingredient.name: ingredient
        for mix in schedule.mixes
        for ingredient in mix.recipe.ingredients
    }
    columns = [
        left("ingredient"),
        Column(f"counted as, {density.name}"),
        Column(f"{plural(schedule.balls, 'ball')} of each weight take, g"),
    ]
    rows = [
        (name, plain(known[name].density / density.factor) if name in known else NONE, str(grams))
        for name, grams in total.items()
    ]
    prices = [None if name not in known else known[name].price for name in total]
    if None in prices:
        return Table(tuple(columns), tuple(rows))
    by_kilo = [Decimal(plain(price or 0.0)) for price in prices]
    costs = [rounded(grams * p / 1000, 2) for grams, p in zip(total.values(), by_kilo, strict=True)]
    told_costs = [
        (*row, str(price), str(cost)) for row, price, cost in zip(rows, by_kilo, costs, strict=True)
    ]
    whole = ("whole line", "", str(sum(total.values())), "", str(sum(costs)))
    columns += [Column("price of a kg"), Column("cost")]
    return Table(tuple(columns), (*told_costs, whole))


def recipe_tables(schedule: Schedule) -> Iterator[Block]:
    """Yield the ingredients as they are counted on, and what each material's mix is held to."""
    recipes = {
        pour.material: casting.batch.mix.recipe
        for class_schedule in schedule.classes
        for casting, pour in zip(class_schedule.castings, class_schedule.sheet.pours, strict=True)
        if casting.batch.mix is not None
    }
    if not recipes:
        return
    density = Units.of(schedule.result.scenario).density
    named = {
        ingredient.name: ingredient
        for recipe in recipes.values()
        for ingredient in recipe.ingredients
    }

    def viscosity(recipe: Recipe) -> str:
        return NONE if recipe.viscosity is None else plain(recipe.viscosity)

    yield (
        Listed([*recipes.items()])
        .left("material", lambda item: item[0])
        .left("resin", lambda item: item[1].resin.name)
        .right(f"resin cured, {density.name}", lambda item: density.number(item[1].cured))
        .right("its shrinkage, by volume", lambda item: plain(item[1].shrinkage))
        .right("voids, by volume", lambda item: plain(item[1].void))
        .right("most solids, by volume of liquid", lambda item: fixed(item[1].loading, 3))
        .right("most viscosity, × the resin's", lambda item: viscosity(item[1]))
        .table
    )
    sources: dict[str, list[str]] = {}
    for ingredient in named.values():
        sources.setdefault(ingredient.source, []).append(ingredient.name)
    yield Notes(tuple(f"{listed(names)}: {source}" for source, names in sources.items()))


def plain(value: float) -> str:
    """Return a figure of the scenario's as it is written."""
    return f"{Decimal(f'{value:.12g}').normalize():f}"
