"""Materials that are recipes: the range that follows, and each mistake in one clear line.

Figures are worked by hand: polyester of 1.13 that shrinks by 5 % is 1.13/0.95 = 1.189474 when
cured; a loading of 0.1 lets it hold 0.1/(0.9 · 0.95 + 0.1) = 0.104712 of fillers.
"""

from __future__ import annotations

import contextlib
import copy
import tomllib
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from answers import example
from optimizer_texts import shipped
from oracles.toml_text import document

from optimizer.lineup.margins import margins
from optimizer.paper.quantities import Units
from optimizer.paper.words import sentence
from optimizer.paper.writers.console import plain
from optimizer.questions.check.checking import checked
from optimizer.questions.check.data import check_data
from optimizer.questions.check.page import check_blocks
from optimizer.scenario import Scenario, linear_maps, scenario
from optimizer.scenario.source.positions import paths, value_at
from optimizer.scenario.source.writing import fingerprint
from shared.errors import InputError

RANGE = "density   = [1.12, 1.22]"
FIGURES = "void = 0.01, shrinkage = 0.05"
BASE = f'resin = "polyester", heavy = ["calcite"], light = ["glass bubbles"], {FIGURES}'
LOW, HIGH = 0.99 * (1.13 / 0.95 - 0.1 / 0.955 * (1.13 / 0.95 - 0.22)), 1.335204
Mixed = Callable[..., Scenario]


@pytest.fixture
def mixed(sound: str) -> Mixed:
    """Return a function that reads the sound scenario with another text on line 24."""

    def reading(shell: str, ingredients: str = "", **densities: float) -> Scenario:
        assert RANGE in sound
        source = sound.replace(RANGE, shell) + ingredients
        return scenario(source, file="t.toml", target_required=True, densities=densities)

    return reading


def recipe(inner: str) -> str:
    """Return a recipe's line."""
    return f"recipe = {{ {inner} }}"


def test_a_range_follows_from_its_recipe(mixed: Mixed) -> None:
    """0.99 · (1.189474 ∓ 0.104712 · …) with bubbles of 0.22 and calcite of 2.71."""
    pour = mixed(recipe(f"{BASE}, loading = 0.1") + "\nstep = 0.01").pours[0]
    assert (pour.low, pour.high) == pytest.approx((LOW, HIGH), abs=1e-6)
    assert pour.low == pytest.approx(1.0770785, abs=1e-7)
    assert pour.step == 0.01
    assert pour.stops == (
        "glass bubbles at the loading given (0.10 by volume)",
        "calcite at the loading given (0.10 by volume)",
    )
    assert pour.recipe is not None
    assert pour.recipe.mix(1.2).density == pytest.approx(1.2, rel=1e-13)


def test_the_loading_follows_from_the_viscosity(mixed: Mixed) -> None:
    """φm(1 − 8^(−1/(2.5 φm))): 0.45 at φm = 0.60, and 0.4655 at 0.64, which is what is left out."""
    for packing, loading in ((", packing = 0.60", 0.45), ("", 0.64 * (1 - 8 ** (-1 / 1.6)))):
        found = mixed(recipe(f"{BASE}, viscosity = 8{packing}")).pours[0].recipe
        assert found is not None
        assert found.loading == pytest.approx(loading, rel=1e-12)
        assert found.mix(found.ends[1].density).viscosity == pytest.approx(8.0, rel=1e-9)
        assert found.ends[1].because.startswith("calcite at the loading the viscosity allows (0.4")


def test_the_shops_own_ingredient_goes_before_the_table(mixed: Mixed, sound: str) -> None:
    """In the scenario's unit of density; one that the table doesn't have is known by its name."""
    own = (
        '\n[ingredients]\n"resin lot 7" = { density = 1.11 }\n'
        "calcite = { density = 2.6, price = 0.4 }\n"
    )
    line = recipe('resin = "resin lot 7", heavy = ["calcite"], loading = 0.2')
    found = mixed(line, own).pours[0].recipe
    assert found is not None
    assert (found.resin.density, found.fillers[0].density) == (1.11, 2.6)
    assert (found.fillers[0].price, found.fillers[0].source) == (0.4, "as this scenario says")
    metric = (sound.replace(RANGE, line) + own).replace('density = "g/cm3"', 'density = "kg/m3"')
    for old, new in (
        ("2.6", "2600"),
        ("1.11", "1110"),
        ("density   = 0.80", "density = 800"),
        ("= 0.010", "= 10"),
    ):
        metric = metric.replace(old, new)
    again = scenario(metric, file="t.toml", target_required=True)
    assert again.pours[0].low == pytest.approx(mixed(line, own).pours[0].low, rel=1e-12)
    assert again.pours[0].recipe is not None
    assert again.pours[0].recipe.resin.density == pytest.approx(1.11, rel=1e-12)


def test_a_density_beside_a_recipe_narrows_it(mixed: Mixed) -> None:
    """And is what stops the pour then."""
    pour = mixed(recipe(f"{BASE}, loading = 0.1") + "\ndensity = [1.1, 1.3]").pours[0]
    assert (pour.low, pour.high) == (1.1, 1.3)
    assert pour.stops == ("the density range in the file",) * 2
    fixed = mixed(recipe(f"{BASE}, loading = 0.1") + "\ndensity = 1.203\nstep = 0.01").pours[0]
    assert fixed.fixed
    assert fixed.recipe is not None


def test_a_density_at_the_very_end_of_a_recipe_can_be_mixed(mixed: Mixed) -> None:
    """Written to ten digits, the least is rounded to below what the recipe reaches."""
    found = mixed(recipe(f"{BASE}, loading = 0.1") + f"\ndensity = [{LOW - 5e-10:.12f}, 1.2]")
    pour = found.pours[0]
    assert pour.recipe is not None
    assert pour.low == pour.recipe.ends[0].density
    assert pour.recipe.mix(pour.low).density == pytest.approx(pour.low, rel=1e-12)


def test_a_resin_alone_is_a_fixed_density(mixed: Mixed) -> None:
    """1.13/0.95 · 0.99, no fillers and nothing to say of them."""
    pour = mixed(recipe(f'resin = "polyester", {FIGURES}')).pours[0]
    assert pour.fixed
    assert pour.low == pytest.approx(0.99 * 1.13 / 0.95, rel=1e-15)


def test_a_density_from_the_command_line_fixes_a_mixed_pour(mixed: Mixed) -> None:
    """The recipe stays where it reaches that, off the step too; else it is a warning."""
    line = recipe(f"{BASE}, loading = 0.1") + "\nstep = 0.01"
    found = mixed(line, cover=1.2034)
    assert found.pours[0].fixed
    assert found.pours[0].recipe is not None
    assert found.warnings == ()
    beyond = mixed(line, cover=1.4)
    assert (beyond.pours[0].low, beyond.pours[0].recipe) == (1.4, None)
    assert beyond.warnings == (
        (
            "--density cover: is beyond what its recipe reaches (1.4); it reaches 1.0771 (glass "
            "bubbles at the loading given (0.10 by volume)) to 1.3352 (calcite at the loading "
            "given (0.10 by volume))"
        ),
    )


def test_an_ingredient_that_no_recipe_names_is_a_warning(mixed: Mixed) -> None:
    """A slip in the name of a shop's own lot would leave the table's density in its place."""
    own = "\n[ingredients]\ncalcit = { density = 2.6 }\n"
    found = mixed(recipe(f"{BASE}, loading = 0.1"), own)
    assert found.warnings == ('t.toml:60:1: ingredient "calcit" is not used',)


def test_a_recipe_is_part_of_the_fingerprint() -> None:
    """One figure of it changed is another scenario."""
    one, other = ({"materials": {"a": {"recipe": {"loading": x}}}} for x in (0.1, 0.2))
    assert fingerprint(one) != fingerprint(other)


REACH = (
    "it reaches 1.0771 (glass bubbles at the loading given (0.10 by volume)) to 1.3352 (calcite at "
    "the loading given (0.10 by volume))"
)
WRONG = {  # each is told of t.toml
    "neither density nor recipe": (
        "",
        (
            '23:1: material "shell" density: is missing; add density = [lowest, highest], or a '
            "recipe that it follows from"
        ),
    ),
    "an unknown resin": (
        recipe('resin = "polyestre"'),
        (
            '24:12: material "shell" recipe resin: is not an ingredient ("polyestre"); did you '
            'mean "polyester"?'
        ),
    ),
    "an unknown filler": (
        recipe('resin = "polyester", heavy = ["barit"], loading = 0.1'),
        (
            '24:42: material "shell" recipe heavy [1]: is not an ingredient ("barit"); did you '
            'mean "barite"?'
        ),
    ),
    "a filler as the resin": (
        recipe('resin = "barite"'),
        (
            '24:12: material "shell" recipe resin: is a filler, not a resin ("barite"); list it '
            "under heavy or light"
        ),
    ),
    "a resin as a filler": (
        recipe('resin = "polyester", heavy = ["epoxy"], loading = 0.1'),
        (
            '24:42: material "shell" recipe heavy [1]: is a resin, not a filler ("epoxy"); it '
            "can be the recipe's resin"
        ),
    ),
    "one filler twice": (
        recipe('resin = "polyester", heavy = ["barite", "barite"], loading = 0.1'),
        '24:52: material "shell" recipe heavy [2]: is listed twice ("barite"); keep one',
    ),
    "a light filler that is heavy": (
        recipe(f'resin = "polyester", light = ["calcite"], loading = 0.1, {FIGURES}'),
        (
            '24:42: material "shell" recipe light [1]: is no lighter than the cured resin (2.71 '
            'against 1.1895) ("calcite"); list it under heavy, or leave it out'
        ),
    ),
    "a heavy filler that is light": (
        recipe(f'resin = "polyester", heavy = ["glass bubbles"], loading = 0.1, {FIGURES}'),
        (
            '24:42: material "shell" recipe heavy [1]: is no denser than the cured resin (0.22 '
            'against 1.1895) ("glass bubbles"); list it under light, or leave it out'
        ),
    ),
    "fillers without a loading": (
        recipe(BASE),
        (
            '24:1: material "shell" recipe: doesn\'t say how much filler it can hold; add '
            "viscosity = …, a multiple of the resin's, or loading = …, a volume fraction"
        ),
    ),
    "loading and viscosity": (
        recipe(f"viscosity = 8, loading = 0.1, {BASE}"),
        (
            '24:27: material "shell" recipe loading: is given as well as a viscosity, but follows '
            "from it (0.1); keep one of them"
        ),
    ),
    "a loading without fillers": (
        recipe('loading = 0.1, resin = "polyester"'),
        (
            '24:12: material "shell" recipe loading: is given, but there are no fillers (0.1); '
            "list them under heavy or light, or leave this out"
        ),
    ),
    "a blend without a share": (
        recipe('resin = ["polyester", "epoxy"]'),
        (
            '24:1: material "shell" recipe: doesn\'t say how much of each resin it takes; add '
            "share = …, the first one's part of the liquid resin's mass, or its bounds"
        ),
    ),
    "a share of one resin": (
        recipe('share = 0.5, resin = "polyester"'),
        (
            '24:12: material "shell" recipe share: is given, but there is only one resin (0.5); '
            'name a second one, resin = ["…", "…"], or leave this out'
        ),
    ),
    "a blend of one": (
        recipe('resin = ["polyester"], share = 0.5'),
        (
            '24:12: material "shell" recipe resin: is a blend of one (["polyester"]); write its '
            'name alone, or add a second one, ["…", "…"]'
        ),
    ),
    "a resin blended with itself": (
        recipe('resin = ["polyester", "polyester"], share = 0.5'),
        ('24:34: material "shell" recipe resin [2]: is listed twice ("polyester"); keep one'),
    ),
    "a filler in a blend": (
        recipe('resin = ["polyester", "calcite"], share = 0.5'),
        (
            '24:34: material "shell" recipe resin [2]: is a filler, not a resin ("calcite"); list '
            "it under heavy or light"
        ),
    ),
    "more than the whole": (
        recipe('share = 1.5, resin = ["polyester", "epoxy"]'),
        '24:12: material "shell" recipe share: is too large (1.5); at most 1',
    ),
    "a share between reversed bounds": (
        recipe('share = { min = 0.8, max = 0.3 }, resin = ["polyester", "epoxy"]'),
        '24:12: material "shell" recipe share: min 0.8 is above max 0.3; swap them',
    ),
    "a filler between the stocks": (
        recipe(
            'heavy = ["talc"], loading = 0.1, share = { min = 0.1, max = 0.9 }, '
            'resin = ["epoxy", "resin lot 7"]'
        )
        + "\n[ingredients]\ntalc = { density = 1.15 }\n"
        + '"resin lot 7" = { density = 1.1 }\n[materials.other]\ndensity = 1',
        (
            '24:21: material "shell" recipe heavy [1]: is no denser than the cured resin (1.15 '
            'against 1.1892) ("talc"); list it under light, or leave it out'
        ),
    ),
    "a loading at the packing": (
        recipe(f"loading = 0.6, packing = 0.6, {BASE}"),
        (
            '24:12: material "shell" recipe loading: is not below the packing, 0.6 (0.6); at '
            "the packing the mix no longer flows"
        ),
    ),
    "a viscosity that is thinner than the resin": (
        recipe(f"viscosity = 1, {BASE}"),
        '24:12: material "shell" recipe viscosity: must be more than 1 (1)',
    ),
    "too many voids": (
        recipe('void = 0.4, resin = "polyester"'),
        '24:12: material "shell" recipe void: is too large (0.4); at most 0.3',
    ),
    "a shrinkage below 0": (
        recipe('shrinkage = -0.1, resin = "polyester"'),
        '24:12: material "shell" recipe shrinkage: must not be negative (-0.1)',
    ),
    "a packing that no grains have": (
        recipe(f"packing = 0.95, viscosity = 8, {BASE}"),
        '24:12: material "shell" recipe packing: is too large (0.95); at most 0.9',
    ),
    "a misspelt key": (
        recipe(f"{BASE}, lading = 0.1"),
        (
            '24:112: material "shell" recipe lading: is not a key here (0.1); did you mean '
            '"loading"?'
        ),
    ),
    "a density that the recipe can't reach": (
        recipe(f"{BASE}, loading = 0.1") + "\ndensity = [1.1, 1.34]",
        (
            f'25:1: material "shell" density: is beyond what its recipe reaches ([1.1, 1.34]); '
            f"{REACH}"
        ),
    ),
    "one density that the recipe can't reach": (
        recipe(f"{BASE}, loading = 0.1") + "\ndensity = 0.9",
        f'25:1: material "shell" density: is beyond what its recipe reaches (0.9); {REACH}',
    ),
    "a density beside a resin alone": (
        recipe('resin = "polyester", shrinkage = 0.2') + "\ndensity = 1.2",
        (
            '25:1: material "shell" density: is beyond what its recipe reaches (1.2); 1.4125 is '
            "what it reaches: polyester alone"
        ),
    ),
    "a step wider than the range": (
        f"{RANGE}\nstep = 0.5",
        (
            '25:1: material "shell" step: is so wide that no multiple of it lies in 1.12 to '
            "1.22 (0.5); a finer step, or a wider range"
        ),
    ),
    "a step finer than what is stated": (
        f"{RANGE}\nstep = 0.00015",
        (
            '25:1: material "shell" step: is not a multiple of 0.0001 g/cm³, to which densities '
            "are stated (0.00015); a rounder step"
        ),
    ),
    "no step": (
        f"{RANGE}\nstep = 0",
        '25:1: material "shell" step: must be more than 0 (0)',
    ),
}


@pytest.mark.parametrize(("shell", "told"), WRONG.values(), ids=WRONG.keys())
def test_one_mistake_in_a_recipe_gives_one_clear_error(mixed: Mixed, shell: str, told: str) -> None:
    with pytest.raises(InputError) as error:
        mixed(shell)
    assert str(error.value) == f"t.toml:{told}"
    assert error.value.exit_code == 3


@pytest.mark.parametrize("odd", [[], {}, "x", 10**400, True, 0, [["a"]]], ids=str)
def test_an_odd_value_anywhere_in_a_recipe_is_read_or_refused(odd: Any) -> None:
    """In place of every value of the example's recipes and lots: no traceback."""
    content = tomllib.loads(shipped("juniper"))
    for *above, key in paths(content):
        if above[:1] in (["materials"], ["ingredients"]):
            spoilt = copy.deepcopy(content)
            _, table = value_at(spoilt, tuple(above))
            table[key] = odd
            with contextlib.suppress(InputError):
                scenario(document(spoilt), file="t.toml", target_required=True)


def test_a_word_for_a_list_of_fillers_is_one_mistake(mixed: Mixed) -> None:
    with pytest.raises(InputError) as error:
        mixed(recipe('heavy = "barite", resin = "polyester", loading = 0.1'))
    assert str(error.value) == (
        't.toml:24:12: material "shell" recipe heavy: is not a list ("barite"); write [ …, … ]'
    )


def test_an_ingredient_has_a_density(mixed: Mixed) -> None:
    with pytest.raises(InputError) as error:
        mixed(RANGE, '\n[ingredients]\n"lot 7" = { price = -1 }\nx = { density = 4350 }\n')
    assert [line.removeprefix("t.toml:") for line in str(error.value).splitlines()] == [
        (
            '60:1: ingredient "lot 7" density: is missing; add it: of the solid filler, or of the '
            "liquid resin mixed with its hardener"
        ),
        '60:13: ingredient "lot 7" price: must not be negative (-1)',
        '61:7: ingredient "x" density: is too large (4350); is it in the unit given in [units]?',
    ]


def test_a_blend_has_the_range_of_its_shares(mixed: Mixed) -> None:
    """Between 1.13 and 1.20 by mass: 1/(w/1.13 + (1 − w)/1.20), less 1 % of voids."""
    shares = "share = { min = 0.25, max = 0.75 }"
    pour = mixed(recipe(f'resin = ["polyester", "epoxy"], {shares}, void = 0.01')).pours[0]
    ends = [0.99 / (w / 1.13 + (1 - w) / 1.20) for w in (0.75, 0.25)]
    assert (pour.low, pour.high) == pytest.approx(ends, rel=1e-12)
    assert pour.stops == (
        "polyester and epoxy (75 : 25 by mass) alone",
        "polyester and epoxy (25 : 75 by mass) alone",
    )
    given = mixed(recipe('resin = ["polyester", "epoxy"], share = 0.25, void = 0.01')).pours[0]
    assert given.fixed
    assert given.low == pytest.approx(ends[1], rel=1e-12)


def test_a_margin_says_which_ingredient_stops_it(mixed: Mixed) -> None:
    """In words and for the next program, both ends; the middle of the range, measured."""
    found = mixed(recipe(f"{BASE}, loading = 0.1"))
    (linear_map, *_) = linear_maps(found)
    ball = linear_map.ball(np.array([1.2, 0.8, 0.8, 1.2]))
    told = {m.words: m for m in margins(ball) if m.part == "cover"}
    assert sentence(told["density max"], Units.of(found)) == (
        "cover 1.2000 g/cm³, 0.1352 under its maximum (1.3352: calcite at the loading given (0.10 "
        "by volume)): 13.5 tolerances"
    )
    assert told["density min"].note == "glass bubbles at the loading given (0.10 by volume)"


def test_a_recipe_beyond_the_rulebook_is_stopped_by_the_rule(mixed: Mixed) -> None:
    """Iron to 0.4 by volume is 1.13 + 0.4 · 6.744 = 3.83 g/cm³; a piece may have 3.80 (2005)."""
    iron = recipe('resin = "polyester", heavy = ["iron powder"], loading = 0.4')
    looked = checked(mixed(iron))
    assert looked.scenario.pours[0].high == pytest.approx(3.8276, abs=1e-4)
    shown = plain(check_blocks(looked))
    assert "shell is stopped before that: USBC allows a piece 3.8000 g/cm³ at most." in shown
    ball = looked.maps[0].ball(np.array([3.82, 0.8, 0.8, 3.82]))
    (rule,) = (m for m in margins(ball) if m.words == "USBC density max" and m.part == "cover")
    assert rule.slack == pytest.approx(-0.02)
    assert not rule.rule_only


def test_check_shows_what_a_recipe_reaches_and_one_mix_of_it(mixed: Mixed) -> None:
    """At 1.2 g/cm³, the middle of 1.1 to 1.3: φ = (1.2/0.99 − 1.189474)/1.520526 of calcite."""
    looked = checked(mixed(recipe(f"{BASE}, loading = 0.1") + "\ndensity = [1.1, 1.3]"))
    shown = plain(check_blocks(looked))
    calcite = (1.2 / 0.99 - 1.13 / 0.95) / (2.71 - 1.13 / 0.95)
    parts = 100 * calcite * 2.71 / ((1 - calcite) * 1.13 / 0.95)
    for words in (
        "shell, by its recipe alone: it reaches 1.0771",
        (
            f"shell at 1.2000 g/cm³: polyester 100.0 and calcite {parts:.1f} parts by weight; "
            "1.2121 g/cm³ without voids"
        ),
        "Voids 1.0 %, the resin shrinks by 5.0 %.",
        "polyester 1.1300 g/cm³: liquid polyester",
    ):
        assert words in shown
    (data,) = check_data(looked)["recipes"]
    assert data["stopped_by"] == ["the density range in the file"] * 2
    assert data["mid_range"]["parts_by_weight"]["calcite"] == pytest.approx(parts, rel=1e-8)
    assert data["mid_range"]["theoretical_g_cm3"] == pytest.approx(1.2 / 0.99, rel=1e-8)
    assert data["mid_range"]["price_per_kg"] is None


def test_a_line_of_recipes_solves_and_every_density_can_be_mixed() -> None:
    """Each density that is stated is mixed, weighed and measured again, within the loading."""
    result = example("juniper")
    assert result.status == "feasible"
    for weight in result.weights:
        for density, pour in zip(weight.ball.densities, weight.ball.map.pours, strict=True):
            assert pour.recipe is not None
            mix = pour.recipe.mix(float(density))
            assert mix.density == pytest.approx(float(density), rel=1e-12)
            assert mix.solids <= pour.recipe.loading
    notes = {m.note for m in result.margins if m.words == "density max"}
    assert "polyester alone" in notes
    assert any(note and note.startswith("barite at the loading") for note in notes)
