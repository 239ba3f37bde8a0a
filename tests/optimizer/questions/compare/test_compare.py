"""Candidates: what they need, against what is counted by hand; domination, by brute force."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from types import SimpleNamespace

import numpy as np
import pytest
from answers import example, solved
from hypothesis import given
from hypothesis import strategies as st
from optimizer_texts import shipped

from optimizer.ball.figures import LOW_RG
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.stating import measured
from optimizer.paper.document import Table
from optimizer.questions.compare.better import better_lines, caution_lines
from optimizer.questions.compare.compare import Candidate, Comparison, comparison, names
from optimizer.questions.compare.differences import alike
from optimizer.questions.compare.page import comparison_blocks
from optimizer.questions.sharing.fillers import material
from optimizer.scenario import scenario
from shared.what_if import WhatIf

TEXT = shipped("juniper")
PRICES = {"polyurethane": 9.0, "polyester": 3.0, "epoxy": 7.0, "calcite": 0.4, "iron powder": 2.0}


@pytest.fixture(scope="module")
def juniper():
    return example("juniper")


@pytest.fixture(scope="module")
def found(juniper):
    both = [juniper, example("juniper-b"), example("larch-metric")]
    return comparison(["juniper.toml", "b.json", "larch.html"], both)


def keel(ball):
    """Volume and density of the keel, whose recipe has one filler."""
    k = [part.name for part in ball.map.parts].index("keel")
    return float(ball.map.volumes[k]), float(ball.densities[k]), ball.map.pours[k].recipe


def test_the_filler_of_a_part_with_one_filler_by_hand(juniper):
    """Volumes of resin and filler add up to the part's but for its voids, masses to its mass.

    Two equations, two unknowns: m_f = (ρV − V(1 − v)ρ_r) / (1 − ρ_r/ρ_f), ρ_r that of the resin
    once it has shrunk. Other parts hold no iron powder.
    """
    for weight in juniper.weights:
        volume, density, recipe = keel(weight.ball)
        iron = recipe.fillers[0].density
        resin = recipe.resin.density / (1.0 - 0.02)
        by_hand = (density * volume - volume * 0.99 * resin) / (1.0 - resin / iron)
        assert material([weight.ball]).fillers["iron powder"] == pytest.approx(by_hand, rel=1e-9)


def test_masses_add_up_to_the_ball_and_volumes_to_its_solids(juniper):
    """Whatever is mixed: grams of all ingredients are the ball's, cubic centimetres its volume's.

    The resins are cured, and the voids of each part (0.2 % of the cover, 1 % of the others) hold
    nothing.
    """
    known = {
        one.name: one.density
        for pour in juniper.scenario.pours
        for one in (pour.recipe.ingredients if pour.recipe else ())
    }
    shrinkage = {"polyurethane": 0.03, "epoxy": 0.02}
    for weight in juniper.weights:
        held, ball = material([weight.ball]), weight.ball
        masses = {**held.fillers, **held.resins}
        assert sum(masses.values()) == pytest.approx(ball.properties.mass, rel=1e-9)
        solids = sum(float(v) * (0.998 if k == 0 else 0.99) for k, v in enumerate(ball.map.volumes))
        # polyester shrinks by 7 % in the mantle and 6 % in the rest: its volume is what is left
        fillers = sum(mass / known[name] for name, mass in held.fillers.items())
        others = sum(held.resins[name] * (1.0 - s) / known[name] for name, s in shrinkage.items())
        polyester = solids - fillers - others
        liquid = held.resins["polyester"] / known["polyester"]
        assert 0.93 * liquid < polyester < 0.94 * liquid


def test_several_balls_hold_what_each_holds(juniper):
    every = material(weight.ball for weight in juniper.weights)
    each = [material([weight.ball]) for weight in juniper.weights]
    assert every.filler == pytest.approx(sum(one.filler for one in each))
    assert every.resins["epoxy"] == pytest.approx(sum(one.resins["epoxy"] for one in each))


def priced(text: str, prices: dict[str, float]) -> str:
    """The scenario with the shop's own lots of everything, with prices for a kg."""
    text = text.replace("density = 4.35 }", "density = 4.35, price = 0.5 }")
    text = text.replace("density = 0.15 }", "density = 0.15, price = 12 }")
    density = {"polyurethane": 1.05, "polyester": 1.11, "epoxy": 1.12, "calcite": 2.71}
    density["iron powder"] = 7.87
    lots = "\n".join(
        f'"{name}" = {{ density = {density[name]}, price = {price} }}'
        for name, price in prices.items()
    )
    return text.replace("[ingredients]\n", f"[ingredients]\n{lots}\n")


def test_the_cost_of_a_ball_by_hand():
    """Grams in the ball times the price of a kg; unknown where one price is missing."""
    result = solved(priced(TEXT, PRICES))
    prices = {**PRICES, "barite": 0.5, "glass bubbles": 12.0}
    for weight in result.weights:
        held = material([weight.ball])
        by_hand = sum(m * prices[n] / 1000 for n, m in {**held.fillers, **held.resins}.items())
        assert held.cost == pytest.approx(by_hand, rel=1e-12)
    without = {name: price for name, price in PRICES.items() if name != "epoxy"}
    result = solved(priced(TEXT, without))
    assert material([result.weights[0].ball]).cost is None


def test_the_cheaper_candidate_is_told_with_both_costs():
    """The second's epoxy is dearer by half: all else is alike, and so are the mixes."""
    dear = {**PRICES, "epoxy": 10.5}
    results = [solved(priced(TEXT, prices)) for prices in (PRICES, dear)]
    found = comparison(["a.toml", "b.toml"], results)
    first, second = (one.material(found.labels).cost for one in found.candidates)
    epoxy = material(weight.ball for weight in results[0].weights).resins["epoxy"]
    assert second - first == pytest.approx(3.5 * epoxy / 1000)
    line = f"Cheapest in one ball of each weight: a, {first:.2f} (b {second:.2f})."
    assert line in better_lines(found)
    table = next(block for block in comparison_blocks(found) if isinstance(block, Table))
    row = next(row for row in table.rows if row[0] == "cost of a ball of each weight")
    assert row[1:] == (f"{first:.2f}", f"{second:.2f}")


def test_a_part_without_a_recipe_is_unknown(found):
    larch = found.candidates[2]
    held = larch.material(found.labels)
    assert held.unknown == ("cover", "mantle", "block", "plug", "belt")
    assert held.cost is None


def test_a_density_beyond_its_recipe_is_unknown(juniper):
    """As a ball that was poured may be measured at."""
    ball = juniper.weights[0].ball
    densities = ball.densities.copy()
    densities[0] = 2.0
    assert material([ball.map.ball(densities)]).unknown == ("cover",)


def test_pours_and_moulds_are_counted_once(found):
    """Larch has one mould for two weights and one for the others; B's cover is one of 17 pours."""
    assert [one.moulds for one in found.candidates] == [1, 1, 2]
    for one in found.candidates:
        poured = {
            (pour.material, float(density))
            for weight in one.result.weights
            for pour, density in zip(weight.ball.map.pours, weight.ball.densities, strict=True)
        }
        assert one.pours == len(poured)


def test_labels_are_the_union_from_heavy_to_light_and_gaps_are_none(found):
    assert found.labels == ("16", "15", "14", "13.5", "13")
    assert found.shared == ("16", "15", "14")
    assert not found.alike_in_weights
    assert found.candidates[0].weight("13.5") is None
    assert found.candidates[2].weight("13.5") is not None


def test_targets_differ_where_figures_or_point_do(found, juniper):
    """By what is asked for: Juniper B aims at the same, Larch at metric figures near it."""
    assert not found.same_target
    assert comparison(["a", "b"], [one.result for one in found.candidates[:2]]).same_target
    other = scenario(
        TEXT.replace('about        = "cg"', 'about = "centre"'), file="x", target_required=True
    )
    assert not comparison(["a", "b"], [juniper, solve_lineup(other)]).same_target


@dataclass(frozen=True, eq=False)
class Worse(Candidate):
    """A candidate with one pour more than it has."""

    @property
    def pours(self):
        """Different pours."""
        return super().pours + 1


CHANGES = {
    "rg": ("rg           = 2.550", "rg = 2.551"),
    "differential": ("differential = 0.040", "differential = 0.041"),
    "about": ('about        = "cg"', 'about = "centre"'),
    "class weight": ("13 = 13.12", "13 = 13.15"),
    "limit": ("top_weight = { min = 1.0,", "top_weight = { min = 0.9,"),
    "wall": ("min = 0.20, tolerance = 0.02", "min = 0.19, tolerance = 0.02"),
    "balance arm": ('revision = "A"', 'revision = "A"\nbalance_arm = 4.2'),
}


@pytest.mark.parametrize("change", CHANGES)
def test_nobody_is_dominated_by_one_who_is_asked_for_something_else(juniper, change):
    """The same balls with one pour more: dominated, until the target or a limit differs."""
    old, new = CHANGES[change]
    assert old in TEXT
    other = scenario(TEXT.replace(old, new), file="x", target_required=True)
    first, worse = Candidate("First", "a", juniper), Worse("Worse", "b", juniper)
    assert Comparison((first, worse)).above(worse) == (first,)
    apart = Worse("Apart", "b", replace(juniper, scenario=other))
    found = Comparison((first, apart))
    assert found.above(apart) == ()
    told = " ".join(caution_lines(found))
    assert "The requirements of Apart differ from those of First: " in told
    assert "called dominated only by one with the same requirements" in told


def test_what_a_line_is_made_of_is_compared(juniper):
    """Other materials and another shop are what candidates differ in; the target is the same."""
    text = TEXT.replace('revision = "A"', 'revision = "B"')
    text = text.replace("[materials.dense]", "[materials.dense]  # the shop's other lot")
    mixed = text.replace("tolerance = 0.030", "tolerance = 0.025")
    assert mixed != text
    other = scenario(mixed, file="x", target_required=True)
    first = Candidate("First", "a", juniper)
    worse = Worse("Worse", "b", replace(juniper, scenario=other))
    assert Comparison((first, worse)).above(worse) == (first,)
    metric = Worse("Metric", "b", replace(juniper, scenario=_in_millimetres()))
    assert alike(first.asked["target"], metric.asked["target"])


def _in_millimetres():
    """Juniper's target written in mm."""
    text = TEXT.replace('rg      = "in"', 'rg      = "mm"')
    for old, new in (
        ("rg           = 2.550", "rg = 64.77"),
        ("differential = 0.040", "differential = 1.016"),
        ("rg = 0.003, differential = 0.001", "rg = 0.0762, differential = 0.0254"),
    ):
        assert old in text
        text = text.replace(old, new)
    return scenario(text, file="x", target_required=True)


def test_within_tolerance_comes_after_feasible(juniper):
    """The same balls, called within tolerance with one figure 0.4 tolerances off: no longer on par.

    It is dominated by the exact one, and doesn't dominate it with a pour less.
    """
    balls = [weight.ball for weight in juniper.weights]
    target = juniper.scenario.target
    figures = np.array(juniper.figures) + np.array([0.4 * target[LOW_RG].tolerance, 0.0])
    off = tuple(measured(ball, figures).roomed() for ball in balls)
    near = Candidate("Near", "b", replace(juniper, status="within_tolerance", weights=off))
    exact = Candidate("Exact", "a", juniper)
    assert (near.found, near.off, exact.off) == (True, Decimal("0.4"), Decimal("0.0"))
    found = Comparison((exact, near))
    assert found.above(near) == (exact,)
    worse = Worse("Worse", "a", juniper)
    assert Comparison((worse, near)).above(worse) == ()
    assert better_lines(found)[0] == "Least off target: Exact, 0.0 tolerances (Near 0.4)."
    told = " ".join(caution_lines(found))
    assert "Near is WITHIN TOLERANCE: it can't meet the target exactly" in told
    assert "which is nearer the target (0.0 tolerances off, not 0.4), needs as many pours" in told


def named(*scenarios: str):
    return [told(name) for name in scenarios]


def told(name: str, *sets: str, case: str | None = None):
    scenario = SimpleNamespace(name=name, what_if=WhatIf(case, sets))
    return SimpleNamespace(scenario=scenario)


@pytest.mark.parametrize(
    ("sources", "scenarios", "expected"),
    [
        (("a.toml", "b.toml"), ("Oak", "Ash"), ("Oak", "Ash")),
        (("x/first.toml", "y/second.json"), ("Oak", "Oak"), ("first", "second")),
        (("x/oak.toml", "y/oak.toml"), ("Oak", "Oak"), ("A", "B")),
        (("a.toml", "b.toml", "c.toml"), ("Oak", "Ash", "Oak"), ("a", "b", "c")),
        (("a.toml", "b.toml"), ("A very long name indeed", "Oak"), ("A very long nam…", "Oak")),
        (("a.toml", "b.toml"), ("A very long name: 1", "A very long name: 2"), ("a", "b")),
    ],
)
def test_names_are_short_and_differ(sources, scenarios, expected):
    assert names(sources, named(*scenarios)) == expected
    assert all(len(name) <= 16 for name in expected)


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ((told("Oak"), told("Oak", case="long")), ("as-written", "long")),
        (
            (told("Oak"), told("Oak", "target.rg = 2.5"), told("Oak", "target.rg = 2.6")),
            ("as-written", "rg = 2.5", "rg = 2.6"),
        ),
        (
            (told("Oak", "name = 1"), told("Oak", "name = 1", 'weights."15.5" = 15.4')),
            ("as-set", "15.5 = 15.4"),
        ),
        (
            [told("Oak", f"materials.dense.density = [1.2, {most}]") for most in (3.0, 3.1)],
            ("[1.2, 3.0]", "[1.2, 3.1]"),
        ),
        (
            (told("Oak", case="long"), told("Oak", "target.rg = 2.5", case="long")),
            ("as-set", "rg = 2.5"),
        ),
        (
            (
                told("Oak"),
                told("Oak", "a = 1"),
                told("Oak", case="b"),
                told("Oak", "a = 1", case="b"),
            ),
            ("as-written", "a = 1", "b", "b, a = 1"),
        ),
    ],
)
def test_columns_of_one_file_are_named_by_what_differs(changed, expected):
    assert names(["x.toml"] * len(changed), changed) == expected


@dataclass(frozen=True)
class Row:
    """A candidate as far as domination knows it."""

    name: str
    rooms: tuple[Decimal, ...]
    pours: int
    asked: str
    off: Decimal = Decimal(0)


tenths = st.integers(0, 4).map(lambda n: Decimal(n) / 10)
rows = st.lists(
    st.tuples(
        st.one_of(st.just(()), st.tuples(tenths, tenths)), st.integers(5, 8), st.sampled_from("ab")
    ),
    min_size=2,
    max_size=7,
)


@given(rows)
def test_domination_by_brute_force(table):
    """No worse in any of three figures and better in one; asked the same; of those found."""
    all_ = tuple(Row(str(k), rooms, pours, asked) for k, (rooms, pours, asked) in enumerate(table))
    found = Comparison(all_)
    for i, (rooms, pours, label) in enumerate(table):
        expected = set()
        for j, (others, fewer, same) in enumerate(table):
            if not rooms or not others or label != same:
                continue
            no_worse = others[0] >= rooms[0] and others[1] >= rooms[1] and fewer <= pours
            better = others[0] > rooms[0] or others[1] > rooms[1] or fewer < pours
            if no_worse and better:
                expected.add(str(j))
        assert {one.name for one in found.above(all_[i])} == expected


def test_an_impossible_candidate_takes_part_but_does_not_rank(juniper):
    two = example("two-pours")
    found = comparison(["a", "b"], [juniper, two])
    assert not found.candidates[1].found
    assert found.candidates[1].rooms == ()
    assert found.above(found.candidates[1]) == ()
    assert found.candidates[1].pours == len({float(w.ball.densities[1]) for w in two.weights}) + 1


def test_margins_count_as_they_are_told(juniper):
    """To a tenth of a tolerance, both of them."""
    one = Candidate("x", "x", juniper)
    assert one.rooms == (Decimal("1.9"), Decimal("4.8"))
