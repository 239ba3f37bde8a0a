"""What is poured round what: forces, losses, turned covers, weighing in air."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from answers import solved
from optimizer_texts import plain_juniper, read, shipped
from oracles import printed

from optimizer.questions.line_up.data import solution
from optimizer.questions.schedule.data import schedule_data
from optimizer.questions.schedule.pouring.casting import in_air, lift
from optimizer.questions.schedule.pouring.scales import Scales
from optimizer.questions.schedule.pouring.schedule import schedule
from shared.errors import InputError

INCH = 2.54
JUNIPER = plain_juniper()
SHOP = """
[foundry]
scale = 1.0
fine_scale = { readability = 0.1, up_to = 200 }
overpour = 0.03
waste = 0.05
mixer = 4.0
cast = { cover = 8.75 }
"""


@pytest.fixture(scope="module")
def one_weight():
    """One weight of the example, its shop added."""
    text = _one(JUNIPER) + SHOP
    return solved(text)


def _one(text):
    """The example with its heaviest weight alone, and without a shop of its own."""
    head, _, rest = text.partition("[weights]")
    body = rest[rest.index("[materials.") :]
    before, _, after = body.partition("[foundry]")
    return f"{head}[weights]\n16 = 15.90\n\n{before}" + after[after.find("\n[") :] * bool(after)


def test_the_force_on_a_core_in_the_liquid_is_that_of_archimedes():
    """Derived, checked by quadrature: 9.43 N up and 7.54 N down (g = 9.80665 m/s²)."""
    ball, block = np.pi / 6 * (7.05 * INCH) ** 3, 4 / 3 * np.pi * (2.0 * INCH) ** 3
    assert lift(1.12, 0.80, ball) == pytest.approx(9.43, abs=0.005)
    assert lift(0.80, 2.20, block) == pytest.approx(-7.54, abs=0.005)


def test_a_scale_in_air_reads_less_by_what_the_air_bears():
    """About 0.012 lb on a ball: a true mass of 15 lb, 8.58 in across."""
    volume, mass = np.pi / 6 * (8.58 * INCH) ** 3, 15 * 453.59237
    assert (mass - in_air(mass, volume)) / 453.59237 == pytest.approx(0.012, abs=0.0005)
    assert in_air(1000.0, 1000.0 / 8.0) == pytest.approx(1000.0), "the weights' own density"


@pytest.mark.parametrize(
    ("grams", "shown", "within"),
    [
        (150.04, "150.0", "0.1"),
        (150.06, "150.1", "0.1"),
        (200.4, "200", "1"),
        (812.5, "812", "1"),
        (813.5, "814", "1"),
        (4321.2, "4321", "4"),
    ],
)
def test_each_amount_is_told_as_its_scale_shows_it(grams, shown, within):
    scales = Scales(Decimal("1.0"), (Decimal("0.1"), Decimal(200)))
    assert scales.weighed(grams) == (Decimal(shown), Decimal(within))


def test_what_goes_in_and_what_comes_out_add_up(one_weight):
    """By hand from the sheet's own figures: each casting, with what lies in it before."""
    (weight,) = schedule_data(schedule(one_weight))["weights"]
    made = {one["part"]: one for one in weight["castings"]}
    poured = {one["part"]: one for one in weight["pours"]}
    assert [one["part"] for one in weight["castings"]] == [
        "keel", "spindle", "girdle", "mantle", "cover"
    ]  # fmt: skip
    assert made["keel"]["in_the_mould_g"] == 0.0
    inner = made["keel"]["cast_g"] + made["spindle"]["cast_g"] + made["girdle"]["cast_g"]
    assert made["mantle"]["in_the_mould_g"] == pytest.approx(inner, abs=1e-4)
    for name in ("keel", "spindle", "girdle", "mantle"):
        one = made[name]
        assert one["cast_g"] == pytest.approx(poured[name]["mass_g"], abs=0.01)
        step = 0.1 if one["poured_g"] <= 200 else 1.0
        assert 0.0 <= one["poured_g"] - 1.03 * one["cast_g"] < step, "the scale shows no less"
        (line,) = one["weigh_out"]
        assert 0.0 <= line["mass_g"] - one["poured_g"] / 0.95 < step
    shell = np.pi / 6 * ((8.75 * INCH) ** 3 - (8.58 * INCH) ** 3)
    cover = made["cover"]
    turned_off = cover["cast_g"] - poured["cover"]["mass_g"]
    assert turned_off == pytest.approx(shell * cover["density_g_cm3"], abs=0.02)


def test_what_is_held_is_the_whole_piece_with_all_that_is_in_it(one_weight):
    (weight,) = schedule_data(schedule(one_weight))["weights"]
    densities = {one["part"]: one["density_g_cm3"] for one in weight["pours"]}
    parts = solution(one_weight)["weights"][0]["parts"]
    piece = [part for part in parts if part["name"] in ("spindle", "keel")]
    piece[0] = {key: value for key, value in piece[0].items() if key != "inside"}
    mass, _ = printed.figures(piece, densities, "centre", INCH)
    volume = np.pi / 6 * 3.30**2 * 6.10 * INCH**3
    mantle = next(one for one in weight["castings"] if one["part"] == "mantle")
    held = {one["part"]: one for one in mantle["held"]}
    assert set(held) == {"spindle", "girdle"}
    assert held["spindle"]["mean_density_g_cm3"] == pytest.approx(mass / volume, rel=1e-6)
    newtons = (mantle["liquid_density_g_cm3"] * volume - mass) * 9.80665 / 1000
    assert held["spindle"]["force_up_N"] == pytest.approx(newtons, abs=1e-5)


def test_a_mixer_shares_the_balls_out_in_batches_and_one_too_small_is_told(one_weight):
    (weight,) = schedule_data(schedule(one_weight, balls=10))["weights"]
    for one in weight["castings"]:
        litres = sum(line["mass_g"] for line in one["weigh_out"]) / one["liquid_density_g_cm3"]
        assert litres / 1000 <= 4.0 * 1.001
        assert one["batches"] * one["balls_per_batch"] >= 10
        assert (one["batches"] - 1) * one["balls_per_batch"] < 10
    small = solved(_one(JUNIPER) + SHOP.replace("mixer = 4.0", "mixer = 1.0"))
    with pytest.raises(InputError, match=r"line\.toml:\d+:\d+: foundry mixer: does not hold the"):
        schedule(small)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (
            "cast = { covre = 8.75 }",
            'foundry cast covre: is not a part (8.75); did you mean "cover"?',
        ),
        ("cast = { cover = 8.50 }", "leaves nothing to turn down (8.5)"),
        ("cast = { keel = 8.75 }", "is not a sphere: only a sphere is turned down"),
        ("scale = 0.0", "must be more than 0"),
        (
            "scale = 1\nfine_scale = { readability = 2, up_to = 9 }",
            "is no finer than the scale's 1",
        ),
        ("fine_scale = { readability = 0.1, up_to = 9 }", "foundry scale: is missing"),
        (
            "scale = 1\nfine_scale = { readability = 0.1, up_to = 0.05 }",
            "is no more than one step",
        ),
        ("waste = 0.9", "is too large (0.9); at most 0.5"),
        ('status = "final"', "is not one of the choices"),
        ("mixer = -1", "must be more than 0"),
    ],
)
def test_a_mistake_in_the_shop_is_one_clear_error(wrong, said):
    with pytest.raises(InputError) as caught:
        read(f"{_one(JUNIPER)}\n[foundry]\n{wrong}\n")
    (problem,) = caught.value.problems
    assert said in str(problem)
    assert problem.line is not None


def test_a_mould_round_a_held_core_grows_by_what_its_own_liquid_shrinks():
    """By hand: the cavity round the mantle holds the liquid that becomes the cover."""
    text = (
        JUNIPER.replace("[expected]", f"{SHOP}\n[expected]")
        if "[foundry]" not in JUNIPER
        else JUNIPER
    )
    recipe = (
        'recipe = { resin = "polyurethane", heavy = ["calcite"], shrinkage = 0.03, loading = 0.3 }'
    )
    text = text.replace("density   = [1.12, 1.22]", recipe)
    (heavy, *_) = schedule_data(schedule(solved(text)))["weights"]
    cover = next(one for one in heavy["castings"] if one["part"] == "cover")
    mantle = np.pi / 6 * (7.48 * INCH) ** 3
    diameter = (cover["cast_diameter_cm"] or 8.58 * INCH) * cover["mould_scale"]
    cavity = np.pi / 6 * diameter**3 - mantle
    liquid = cover["cast_g"] / cover["liquid_density_g_cm3"]
    assert cavity == pytest.approx(liquid, rel=1e-4)
    made = {one["part"]: one for one in heavy["castings"]}
    assert made["mantle"]["mould_scale"] is None, "no recipe, no shrinkage known"


def test_no_mix_fills_the_mixer_beyond_its_room_or_is_thicker_than_its_recipe_pours():
    example = shipped("juniper")
    for mixer in ("3.5", "4.0", "7.0"):
        text = example.replace("mixer      = 20.0", f"mixer = {mixer}")
        told = schedule(solved(text), balls=9)
        for one in told.classes:
            for casting in one.castings:
                batch = casting.batch
                litres = float(batch.grams) / batch.wet / 1000
                assert litres <= float(mixer) * 1.0005
                assert batch.mix.solids <= batch.mix.recipe.loading + 5e-4
