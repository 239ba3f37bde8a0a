"""Recipes: the rule of mixtures, the range, what is weighed, against other roads to the same."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import linprog

from optimizer.mixing.ingredients import Ingredient, shipped
from optimizer.mixing.mix import Mix
from optimizer.mixing.pourability import loading_at, viscosity_at
from optimizer.mixing.recipe import Recipe
from shared.arrays import Array
from shared.reference import table

PLAIN = Ingredient("resin", 1.12)
BARITE, CALCITE = Ingredient("barite", 4.48), Ingredient("calcite", 2.7102)
BUBBLES = Ingredient("bubbles", 0.22)


def by_volume(recipe: Recipe, *fillers: float) -> Mix:
    """Return the mix with these volume fractions of the wet, void-free mix."""
    densities = [ingredient.density for ingredient in (recipe.resin, *recipe.fillers)]
    return recipe.weighed(np.multiply([1 - sum(fillers), *fillers], densities).tolist())


@st.composite
def recipes(draw: st.DrawFn, *, priced: bool = False) -> Recipe:
    """Draw a recipe of one or two stocks and up to four fillers, none as dense as a cured stock."""

    def ingredient(name: str, low: float, high: float) -> Ingredient:
        price = draw(st.floats(0.1, 10.0)) if priced else None
        return Ingredient(name, draw(st.floats(low, high)), price)

    resin, shrinkage = ingredient("resin", 0.95, 1.3), draw(st.floats(0.0, 0.3))
    second = ingredient("second", 0.95, 1.3) if draw(st.booleans()) else None
    shares = sorted((draw(st.floats(0.0, 1.0)), draw(st.floats(0.0, 1.0))))
    fillers = tuple(ingredient(f"f{i}", 0.1, 8.0) for i in range(draw(st.integers(1, 4))))
    cured = [stock.density / (1 - shrinkage) for stock in (resin, second) if stock is not None]
    assume(all(abs(one.density - own) > 0.01 for one in fillers for own in cured))
    assume(max(cured) - min(cured) > 0.001 or second is None)
    return Recipe(
        resin,
        fillers,
        loading=draw(st.floats(0.05, 0.62)),
        void=draw(st.floats(0.0, 0.3)),
        shrinkage=shrinkage,
        second=second,
        share=(1.0, 1.0) if second is None else (shares[0], shares[1]),
    )


@pytest.mark.parametrize(
    ("filler", "densities"),
    [
        (4.48, (1.456, 1.792, 2.128, 2.464, 2.800)),
        (2.7102, (1.279, 1.438, 1.597, 1.756, 1.915)),
        (5.26, (1.534, 1.948, 2.362, 2.776, 3.190)),
        (7.874, (1.795, 2.471, 3.146, 3.822)),
        (0.22, (1.030, 0.940, 0.850, 0.760, 0.670)),
    ],
    ids=("barite", "calcite", "hematite", "iron", "microspheres"),
)
def test_volumes_add(filler: float, densities: tuple[float, ...]) -> None:
    """Resin 1.12 with 0.1, 0.2, … of a filler by volume: φρ_f + (1 − φ)·1.12, worked by hand."""
    recipe = Recipe(PLAIN, (Ingredient("filler", filler),), loading=0.5)
    for k, density in enumerate(densities, start=1):
        mix = by_volume(recipe, k / 10)
        assert round(mix.density, 3) == pytest.approx(density)
        assert mix.solids == pytest.approx(k / 10, rel=1e-12)


def test_weight_fractions_of_barite() -> None:
    """φ of 0.1 to 0.5 of barite in resin 1.12: w_f = φ_f ρ_f/ρ, worked by hand."""
    recipe = Recipe(PLAIN, (BARITE,), loading=0.5)
    weights = [round(float(by_volume(recipe, k / 10).shares[1]), 4) for k in range(1, 6)]
    assert weights == [0.3077, 0.5, 0.6316, 0.7273, 0.8]


def test_theoretical_density_and_voids_are_those_of_d2734() -> None:
    """ASTM D2734: T = 100/(R/D + r/d), V = 100 (T − M)/T, R and r percent by weight."""
    recipe = Recipe(PLAIN, (BARITE,), loading=0.5, void=0.013, shrinkage=0.07)
    mix = recipe.weighed([40.0, 60.0])
    theoretical = 100 / (40.0 / (1.12 / 0.93) + 60.0 / 4.48)
    assert mix.theoretical == pytest.approx(theoretical, rel=1e-14)
    assert 100 * (theoretical - mix.density) / theoretical == pytest.approx(1.3, rel=1e-10)


def test_a_shrinking_mix_keeps_its_mass() -> None:
    """Volume poured × wet density is volume cast × density; only the resin's volume shrinks."""
    recipe = Recipe(PLAIN, (BARITE,), loading=0.5, void=0.02, shrinkage=0.08)
    mix = by_volume(recipe, 0.3)
    assert mix.swell * mix.wet == pytest.approx(mix.density, rel=1e-14)
    assert mix.wet == pytest.approx(0.98 * (0.7 * 1.12 + 0.3 * 4.48), rel=1e-14)
    assert mix.swell == pytest.approx(1 / (0.3 + 0.7 * 0.92), rel=1e-14)


def test_parts_are_for_a_hundred_of_resin() -> None:
    """40 of resin and 60 of barite are 150 parts for 100 of resin."""
    recipe = Recipe(PLAIN, (BARITE,), loading=0.5)
    assert recipe.weighed([40, 60]).parts.tolist() == pytest.approx([100.0, 150.0])


def test_viscosity_is_told_where_the_packing_is_known() -> None:
    """Krieger and Dougherty's figure for φ = 0.3; none without φm; infinite where it won't pour."""
    known = Recipe(PLAIN, (BARITE,), loading=0.5, packing=0.64)
    assert by_volume(known, 0.3).viscosity == pytest.approx(2.7512, abs=5e-5)
    assert by_volume(known, 0.7).viscosity == math.inf
    assert by_volume(replace(known, packing=None), 0.3).viscosity is None


def cast_densities(recipe: Recipe) -> Array:
    """Return the densities of stocks, cured, and fillers."""
    stocks = [recipe.resin] if recipe.second is None else [recipe.resin, recipe.second]
    cured = [stock.density / (1 - recipe.shrinkage) for stock in stocks]
    return np.array([*cured, *(ingredient.density for ingredient in recipe.fillers)])


def programs(
    recipe: Recipe,
    cost: Array,
    density: float | None = None,
    share: tuple[float, float] | None = None,
) -> float | None:
    """Return the least of cost · φ over cured volume fractions φ, stocks first; None for none.

    The rows as the rule of mixtures says them, the loading in the wet mix as it is, and a blend's
    share within its bounds or others.
    """
    densities = cast_densities(recipe)
    n = len(recipe.fillers)
    stocks = len(densities) - n
    equal, right = [np.ones(stocks + n)], [1.0]
    if density is not None:
        equal, right = [*equal, densities], [1.0, density / (1 - recipe.void)]
    rows = [[-recipe.loading / (1 - recipe.shrinkage)] * stocks + [1 - recipe.loading] * n]
    if stocks == 2:
        least, most = share or recipe.share
        first, second = densities[:2]
        rows.append([-(1 - least) * first, least * second, *([0.0] * n)])
        rows.append([(1 - most) * first, -most * second, *([0.0] * n)])
    none = [0.0] * len(rows)
    found = linprog(cost, A_ub=rows, b_ub=none, A_eq=equal, b_eq=right, method="highs")
    assert found.status in (0, 2)
    return float(found.fun) if found.status == 0 else None


def at_share(recipe: Recipe, mix: Mix) -> tuple[float, float]:
    """Return a blend's share of the first stock, as weighed, from its grams, with some room."""
    if recipe.second is None:
        return 1.0, 1.0
    first, second = mix.shares[:2]
    return first / (first + second) - 1e-7, first / (first + second) + 1e-7


@given(recipe=recipes())
def test_the_range_is_that_of_the_linear_program(recipe: Recipe) -> None:
    """HiGHS through scipy, on the volume fractions, finds the same least and greatest density."""
    densities = cast_densities(recipe)
    low, high = (end.density for end in recipe.ends)
    solid = 1 - recipe.void
    least, most = programs(recipe, densities), programs(recipe, -densities)
    assert least is not None
    assert most is not None
    assert low == pytest.approx(solid * least, rel=1e-7)
    assert high == pytest.approx(-solid * most, rel=1e-7)


@given(recipe=recipes(), at=st.floats(0.0, 1.0))
def test_a_mix_has_the_density_that_was_asked_and_the_least_filler(
    recipe: Recipe, at: float
) -> None:
    """Weighed out and measured it gives the density back; scipy finds no mix with less filler."""
    low, high = (end.density for end in recipe.ends)
    density = min(max(low + at * (high - low), low), high)
    mix = recipe.mix(density)
    assert mix.density == pytest.approx(density, rel=1e-12)
    assert float(np.sum(mix.shares)) == pytest.approx(1.0, rel=1e-14)
    assert mix.solids <= recipe.loading + 1e-8
    again = recipe.weighed((7.3 * mix.shares).tolist())
    assert again.density == pytest.approx(density, rel=1e-12)
    n = len(recipe.fillers)
    volumes = mix.theoretical * mix.shares[-n:] / [each.density for each in recipe.fillers]
    fillers = np.array([*np.zeros(len(mix.shares) - n), *np.ones(n)])
    least = programs(recipe, fillers, density, at_share(recipe, mix))
    assert float(np.sum(volumes)) == pytest.approx(least, abs=1e-6)


@given(recipe=recipes(), at=st.floats(0.0, 1.0))
def test_a_share_is_the_nearest_to_the_middle_with_which_a_mix_is(
    recipe: Recipe, at: float
) -> None:
    """Within its bounds; scipy finds no mix of the density with a share that is nearer."""
    assume(recipe.second is not None)
    low, high = (end.density for end in recipe.ends)
    density = min(max(low + at * (high - low), low), high)
    mix = recipe.mix(density)
    share, middle = float(np.mean(at_share(recipe, mix))), sum(recipe.share) / 2
    assert recipe.share[0] - 1e-9 <= share <= recipe.share[1] + 1e-9
    off = abs(share - middle)
    if off > 1e-3:
        nearer = (middle - off + 1e-3, middle + off - 1e-3)
        assert programs(recipe, np.zeros(len(mix.shares)), density, nearer) is None


def test_a_blend_by_hand() -> None:
    """60 g of 1.20 and 40 g of 1.00 are 50 and 40 cm³: 100/90; by 10 % less volume, 100/81."""
    hard, soft = Ingredient("hard", 1.2, 5.0), Ingredient("soft", 1.0, 10.0)
    recipe = Recipe(hard, (), 0.0, shrinkage=0.1, second=soft, share=(0.6, 0.6))
    mix = recipe.mix(100 / 81)
    assert mix.shares.tolist() == pytest.approx([0.6, 0.4])
    assert (mix.theoretical, mix.wet, mix.price) == pytest.approx((100 / 81, 100 / 90, 7.0))
    assert mix.swell == pytest.approx(90 / 81)
    assert recipe.weighed([60, 40]).parts.tolist() == pytest.approx([60.0, 40.0])
    assert recipe.ends[0].because == "hard and soft (60 : 40 by mass) alone"
    with pytest.raises(ValueError, match="beyond"):
        recipe.mix(1.23)
    free = replace(recipe, share=(0.25, 0.75))
    assert free.mix(free.ends[1].density).shares.tolist() == pytest.approx([0.75, 0.25])


@given(recipe=recipes(priced=True), at=st.floats(0.0, 1.0))
def test_with_prices_a_mix_is_the_cheapest(recipe: Recipe, at: float) -> None:
    """The price per kg is that of scipy's cheapest mix of the same density."""
    low, high = (end.density for end in recipe.ends)
    density = low + at * (high - low)
    mix = recipe.mix(min(max(density, low), high))
    assert mix.density == pytest.approx(density, rel=1e-12)
    assert mix.solids <= recipe.loading + 1e-8
    stocks = [recipe.resin] if recipe.second is None else [recipe.resin, recipe.second]
    every = (*stocks, *recipe.fillers)
    cured = cast_densities(recipe)
    cost = np.array(
        [(ingredient.price or 0.0) * rho for ingredient, rho in zip(every, cured, strict=True)]
    )
    least = programs(recipe, cost, density, at_share(recipe, mix))
    assert least is not None
    assert mix.price == pytest.approx(least / (density / (1 - recipe.void)), rel=1e-6)


def test_one_price_that_is_missing_leaves_the_least_filler() -> None:
    """A cheaper filler wins only where every ingredient has a price."""
    dear, cheap = replace(BARITE, price=9.0), replace(CALCITE, price=0.1)
    recipe = Recipe(replace(PLAIN, price=0.2), (dear, cheap), loading=0.5)
    assert recipe.mix(1.5).shares[1] == 0.0
    assert replace(recipe, resin=PLAIN).mix(1.5).shares[2] == 0.0
    assert replace(recipe, resin=PLAIN).mix(1.5).price is None


def test_of_equals_the_first_in_the_file_is_taken() -> None:
    """Two fillers that are alike, in either order, with prices and without."""
    for price in (None, 0.8):
        a, b = (Ingredient(name, 3.0, price) for name in "ab")
        for order in ((a, b), (b, a)):
            recipe = Recipe(replace(PLAIN, price=price), order, loading=0.4)
            shares = recipe.mix(1.6).shares
            assert shares[1] > 0.0
            assert shares[2] == 0.0


def test_the_ends_are_stopped_by_the_heaviest_and_the_lightest() -> None:
    """In words, with the loading; by the resin where no filler is on that side."""
    loading = loading_at(8.0, 0.60, 2.5)
    recipe = Recipe(PLAIN, (CALCITE, BARITE, BUBBLES), loading, packing=0.60, viscosity=8.0)
    low, high = recipe.ends
    assert low.because == "bubbles at the loading the viscosity allows (0.45 by volume)"
    assert high.because == "barite at the loading the viscosity allows (0.45 by volume)"
    assert high.density == pytest.approx(1.12 + loading * (4.48 - 1.12), rel=1e-14)
    assert viscosity_at(loading, 0.60, 2.5) == pytest.approx(8.0, rel=1e-12)
    heavy = Recipe(PLAIN, (BARITE,), loading=0.45)
    assert [end.because for end in heavy.ends] == [
        "resin alone",
        "barite at the loading given (0.45 by volume)",
    ]


def test_a_resin_alone_has_one_density() -> None:
    """Liquid 1.12 that shrinks by 5 % and holds 1 % of voids: 0.99 · 1.12/0.95."""
    recipe = Recipe(PLAIN, (), loading=0.0, void=0.01, shrinkage=0.05)
    low, high = recipe.ends
    assert low.density == high.density == pytest.approx(0.99 * 1.12 / 0.95, rel=1e-15)
    assert recipe.mix(low.density).shares.tolist() == [1.0]
    assert recipe.rate(high) == 0.0


@given(recipe=recipes())
def test_an_end_moves_at_its_rate_with_the_filler_that_a_limit_allows(recipe: Recipe) -> None:
    """Exactly, and the limit is found back from the filler; for a loading and for a viscosity."""
    for one in (recipe, replace(recipe, packing=0.64, viscosity=2.0).limited(2.0)):
        assert one.limit_for(one.most_filler) == pytest.approx(one.limit, rel=1e-9)
        more = one.limited(one.limit * 1.02)
        assert more.limit == one.limit * 1.02
        for end, moved, sign in zip(one.ends, more.ends, (-1, 1), strict=True):
            by = sign * one.rate(end) * (more.most_filler - one.most_filler)
            assert moved.density == pytest.approx(end.density + by, rel=1e-12)


def test_beyond_the_ends_there_is_no_mix() -> None:
    """Nor are there masses of the wrong count, sign or without resin."""
    recipe = Recipe(PLAIN, (BARITE,), loading=0.45)
    low, high = (end.density for end in recipe.ends)
    for density in (low - 1e-6, high + 1e-6, 0.0):
        with pytest.raises(ValueError, match="is beyond"):
            recipe.mix(density)
    for masses in ([1.0], [1.0, -1.0], [0.0, 1.0], [1.0, math.nan]):
        with pytest.raises(ValueError, match="masses"):
            recipe.weighed(masses)


def test_a_viscosity_needs_a_packing() -> None:
    with pytest.raises(ValueError, match="packing"):
        Recipe(PLAIN, (BARITE,), loading=0.45, viscosity=8.0)


def test_the_shipped_table_says_where_each_figure_comes_from() -> None:
    """Kind, a density that a resin or filler can have, source; cautions that are in their table."""
    agents = {agent["name"] for agent in table("cautions")["agents"]}
    for name, row in table("ingredients").items():
        assert row["source"], name
        assert set(row["grade"].split("/")) <= set("ABCD"), name
        assert set(row.get("agents", [])) <= agents, name
        assert 0.1 < row["density"] < 8.0, name
    kinds = {name: ingredient.kind for name, ingredient in shipped().items()}
    assert kinds["polyester"] == "resin"
    assert kinds["glass bubbles"] == kinds["barite"] == "filler"
