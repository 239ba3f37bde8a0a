"""Recipes of a scenario: their ingredients, the ranges that follow, and mistakes in them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, Final

from optimizer.ball.sought import Pour
from optimizer.mixing.ingredients import Ingredient, shipped
from optimizer.mixing.pourability import PACKING, loading_at
from optimizer.mixing.recipe import End, Recipe
from optimizer.scenario.checks.mistakes import Mistake, written
from optimizer.scenario.source.content import Content, is_number, items, table
from optimizer.scenario.text.material_text import MaterialText, RecipeText
from optimizer.scenario.text.scenario_text import ScenarioText
from shared.models import Path, suggestion
from shared.tolerances import DENSITY_STEP
from shared.units import DENSITIES

LIMITS: Final = ("viscosity", "loading", "packing", "intrinsic")
"""Keys of a recipe that concern its fillers."""
GIVEN: Final = "the density range in the file"
"""Why a pour's range ends where the file narrows its recipe's range."""
NEAR: Final = 1e-9
"""g/cm³ by which rounding may put a density outside a recipe's range."""


def wrong_recipes(content: Content) -> Iterator[Mistake]:
    """Yield mistakes in recipes, and materials with neither a density nor a recipe."""
    for name, material in table(content, "materials").items():
        if not isinstance(material, Mapping):
            continue
        if material.keys() <= {"tolerance", "step"}:
            instead = "add density = [lowest, highest], or a recipe that it follows from"
            yield Mistake(("materials", name, "density"), "is missing", instead, shown=False)
        if isinstance(material.get("recipe"), Mapping):
            path: Path = ("materials", name, "recipe")
            yield from _wrong_names(content, path, material["recipe"])
            yield from _wrong_loading(path, material["recipe"])
            yield from _wrong_share(path, material["recipe"])


def _wrong_names(content: Content, path: Path, recipe: Content) -> Iterator[Mistake]:
    kinds: dict[str, str | None] = {name: ingredient.kind for name, ingredient in shipped().items()}
    kinds = {**dict.fromkeys(table(content, "ingredients")), **kinds}
    seen: set[str] = set()
    for at, name in _named(recipe):
        asked = "resin" if at[0] == "resin" else "filler"
        kind = kinds.get(name) or asked  # the shop's own ingredients have no kind
        if name not in kinds:
            known = [ingredient for ingredient, kind in kinds.items() if kind in (None, asked)]
            yield Mistake((*path, *at), "is not an ingredient", suggestion(name, known))
        elif kind != asked:
            filler = "list it under heavy or light"
            instead = filler if asked == "resin" else "it can be the recipe's resin"
            yield Mistake((*path, *at), f"is a {kind}, not a {asked}", instead)
        elif name in seen:
            yield Mistake((*path, *at), "is listed twice", "keep one")
        else:
            seen.add(name)


def _named(recipe: Content) -> Iterator[tuple[Path, str]]:
    """Yield each ingredient's place in a recipe, and its name."""
    named: list[tuple[Path, Any]] = [(("resin",), recipe.get("resin"))]
    for key in ("resin", "heavy", "light"):
        named += [((key, i), name) for i, name in enumerate(items(recipe.get(key)))]
    return ((at, name) for at, name in named if isinstance(name, str) and name)


def used_ingredients(content: Content) -> frozenset[str]:
    """Return the names of all ingredients that recipes name."""
    recipes = [table(content, "materials", name, "recipe") for name in table(content, "materials")]
    return frozenset(name for recipe in recipes for _, name in _named(recipe))


def _wrong_loading(path: Path, recipe: Content) -> Iterator[Mistake]:
    """Yield mistakes in how a recipe limits its filler."""
    if not any(recipe.get(key) for key in ("heavy", "light")):
        for key in LIMITS:
            if key in recipe:
                instead = "list them under heavy or light, or leave this out"
                yield Mistake((*path, key), "is given, but there are no fillers", instead)
        return
    viscosity, loading, packing = (recipe.get(key) for key in LIMITS[:3])
    if viscosity is None and loading is None and recipe.keys() <= RecipeText.model_fields.keys():
        instead = "add viscosity = …, a multiple of the resin's, or loading = …, a volume fraction"
        yield Mistake(path, "doesn't say how much filler it can hold", instead, shown=False)
    if viscosity is not None and loading is not None:
        what = "is given as well as a viscosity, but follows from it"
        yield Mistake((*path, "loading"), what, "keep one of them")
    elif is_number(loading) and is_number(packing) and loading >= packing:
        what = f"is not below the packing, {written(packing)}"
        yield Mistake((*path, "loading"), what, "at the packing the mix no longer flows")


def _wrong_share(path: Path, recipe: Content) -> Iterator[Mistake]:
    """Yield a blend without a share, and a share of a single resin."""
    resin = recipe.get("resin")
    if isinstance(resin, list) and len(resin) == 1:
        instead = 'write its name alone, or add a second one, ["…", "…"]'
        yield Mistake((*path, "resin"), "is a blend of one", instead)
    elif isinstance(resin, list) and "share" not in recipe:
        instead = "add share = …, the first one's part of the liquid resin's mass, or its bounds"
        yield Mistake(path, "doesn't say how much of each resin it takes", instead, shown=False)
    elif isinstance(resin, str) and "share" in recipe:
        instead = 'name a second one, resin = ["…", "…"], or leave this out'
        yield Mistake((*path, "share"), "is given, but there is only one resin", instead)


def recipes(text: ScenarioText) -> dict[str, Recipe]:
    """Return the recipe of each material that has one."""
    ingredients = shipped()
    for name, own in text.ingredients.items():
        kind = ingredients[name].kind if name in ingredients else None
        ingredients[name] = Ingredient(name, own.density, own.price, "as this scenario says", kind)
    return {
        name: _recipe(material.recipe, ingredients)
        for name, material in text.materials.items()
        if material.recipe is not None
    }


def _recipe(text: RecipeText, known: Mapping[str, Ingredient]) -> Recipe:
    packing = text.packing
    if text.viscosity is None:
        loading = text.loading or 0.0
    else:
        packing = packing or PACKING
        loading = loading_at(text.viscosity, packing, text.intrinsic)
    stocks, share = [known[name] for name in text.resin], text.share
    return Recipe(
        resin=stocks[0],
        second=stocks[1] if stocks[1:] else None,
        share=(1.0, 1.0) if share is None else (share.min, share.max),
        fillers=tuple(known[name] for name in (*text.heavy, *text.light)),
        loading=loading,
        void=text.void,
        shrinkage=text.shrinkage,
        packing=packing,
        intrinsic=text.intrinsic,
        viscosity=text.viscosity,
    )


def misfit_recipes(
    text: ScenarioText, known: Mapping[str, Recipe], sought: str | None
) -> Iterator[Mistake]:
    """Yield fillers listed on the wrong side of their resin, and densities that can't be poured.

    One share for the line can be found for one blend only, and not where something else is
    `sought`, such as "a dimension".
    """
    unit = DENSITIES[text.units.density].size
    open_ = [name for name, each in text.materials.items() if each.recipe and each.recipe.open]
    for name in open_ if sought else open_[1:]:
        other = sought or f"that of {open_[0]}"
        what = f"is to be found for the line, and so is {other}"
        instead = 'give one of them a value, or leave out same = "all"'
        yield Mistake(("materials", name, "recipe", "share"), what, instead, shown=False)
    for name, material in text.materials.items():
        path: Path = ("materials", name)
        if name in known and material.recipe is not None:
            wrong = list(_wrong_sides((*path, "recipe"), material.recipe, known[name], unit))
            yield from wrong
            if material.density is not None and not wrong:
                least, most = known[name].ends
                asked = material.density
                if asked[0] < least.density - NEAR or asked[1] > most.density + NEAR:
                    what = "is beyond what its recipe reaches"
                    yield Mistake((*path, "density"), what, reach(least, most, unit))
        low, high = _range(material, known.get(name))
        step = material.step
        if step is not None and low < high and math.floor(high / step + NEAR) * step < low - NEAR:
            span = " to ".join(_inward(low, high, unit))
            what = f"is so wide that no multiple of it lies in {span}"
            yield Mistake((*path, "step"), what, "a finer step, or a wider range")
        if step is not None and abs(step / DENSITY_STEP - round(step / DENSITY_STEP)) > NEAR:
            what = "is not a multiple of 0.0001 g/cm³, to which densities are stated"
            yield Mistake((*path, "step"), what, "a rounder step")


def _wrong_sides(path: Path, text: RecipeText, recipe: Recipe, unit: float) -> Iterator[Mistake]:
    by_name = {ingredient.name: ingredient.density for ingredient in recipe.fillers}
    for key, names, sign in (("heavy", text.heavy, 1), ("light", text.light, -1)):
        for i, name in enumerate(names):
            resin = recipe.cured[1 if sign > 0 else 0]
            if sign * (by_name[name] - resin) <= 0:
                more, right_key = ("denser", "light") if sign > 0 else ("lighter", "heavy")
                own, cured = (f"{rho / unit:.5g}" for rho in (by_name[name], resin))
                what = f"is no {more} than the cured resin ({own} against {cured})"
                yield Mistake((*path, key, i), what, f"list it under {right_key}, or leave it out")


def reach(low: End, high: End, unit: float) -> str:
    """Return a recipe's range in words, rounded inward to 0.0001 g/cm³."""
    if low.density == high.density:
        return f"{low.density / unit:.10g} is what it reaches: {low.because}"
    least, most = _inward(low.density, high.density, unit)
    return f"it reaches {least} ({low.because}) to {most} ({high.because})"


def _inward(low: float, high: float, unit: float) -> tuple[str, str]:
    ends = math.ceil(low * 1e4 - 1e-5) / 1e4, math.floor(high * 1e4 + 1e-5) / 1e4
    return f"{ends[0] / unit:.10g}", f"{ends[1] / unit:.10g}"


def _range(material: MaterialText, recipe: Recipe | None) -> tuple[float, float]:
    """Return the densities that can be poured: not even rounding leaves a recipe's range."""
    if recipe is None:
        if material.density is None:
            raise ValueError("a material has a density or a recipe")
        return material.density
    ends = recipe.ends[0].density, recipe.ends[1].density
    low, high = material.density or ends
    return min(max(low, ends[0]), ends[1]), min(max(high, ends[0]), ends[1])


def pour(part: str, name: str, text: ScenarioText, known: Mapping[str, Recipe]) -> Pour:
    """Return what may be poured into a part of the material `name`."""
    material, recipe = text.materials[name], known.get(name)
    low, high = _range(material, recipe)
    stops = None if recipe is None else (recipe.ends[0].because, recipe.ends[1].because)
    if stops and material.density:
        stops = GIVEN, GIVEN
    path = ("materials", name, "density" if material.density else "recipe")
    return Pour(part, name, low, high, material.tolerance, material.step, recipe, stops, path)
