"""A batch covers its pours, whatever the scales show; what is more is known to the gram."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from optimizer_texts import shipped

from optimizer.questions.schedule.pouring.batch import LARGER, batch
from optimizer.questions.schedule.pouring.scales import Scales
from optimizer.questions.schedule.pouring.shop import Shop
from optimizer.scenario import linear_maps, scenario
from shared.errors import InputError

EXAMPLE = shipped("juniper")
SHOPS = {
    "as it is": (),
    "coarse": (("scale      = 1.0", "scale = 5.0"), ("readability = 0.1", "readability = 2")),
    "odd steps": (("scale      = 1.0", "scale = 0.7"), ("readability = 0.1", "readability = 0.3")),
    "one scale": (("fine_scale = { readability = 0.1, up_to = 200 }", ""),),
    "small mixer": (("mixer      = 20.0", "mixer = 4.0"),),
    "no waste": (("waste      = 0.02", "waste = 0.0"),),
    "ready mixes": tuple(
        (row, "density = [0.6, 3.6]") for row in EXAMPLE.splitlines() if row.startswith("recipe")
    ),
}


def _exact(value):
    return Fraction(str(value))


@pytest.mark.parametrize("name", SHOPS)
def test_a_batch_covers_its_pours_and_fits_the_mixer(name):
    """By fractions, from nothing but the scenario's figures and the grams that are weighed."""
    text = EXAMPLE
    for was, is_ in SHOPS[name]:
        assert was in text
        text = text.replace(was, is_)
    read = scenario(text, file="juniper.toml", target_required=True)
    shop, random = Shop(read), np.random.default_rng(len(name))
    waste, pours = _exact(shop.text.waste), linear_maps(read)[0].pours
    made, refused = 0, []
    for _ in range(120):
        pour = pours[random.integers(len(pours))]
        density = round(random.uniform(pour.low, pour.high), 2)
        density = min(max(density, pour.low), pour.high)
        volume, balls = float(random.uniform(60.0, 3300.0)), int(random.integers(1, 30))
        try:
            found = batch(pour, density, volume, shop, balls)
        except InputError as said:
            refused.append(str(said))
            continue
        made += 1
        casting = volume * found.density
        steps = [_exact(one.grams) / _exact(shop.scales.step(one.grams)) for one in found.lines]
        assert all(n.denominator == 1 for n in steps), "whole steps of the scale"
        whole = sum(_exact(line.grams) for line in found.lines)
        needed = found.balls * _exact(found.pour) / (1 - waste)
        assert -1e-6 < float(found.pour) - casting < float(shop.scales.step(casting))
        assert whole >= needed
        assert float(found.spare) == pytest.approx(float(whole - needed), abs=1e-9)
        assert whole <= LARGER * needed + 3 * _exact(shop.scales.readability)
        assert found.count * found.balls >= balls > (found.count - 1) * found.balls
        if shop.text.mixer is not None:
            assert float(whole) / found.wet <= 1000.0 * shop.text.mixer
    assert made > 60
    assert all("mixer: does not hold" in one or "too coarse" in one for one in refused)


@pytest.mark.parametrize(
    ("grams", "enough"), [(696.0, "696"), (696.01, "697"), (199.91, "200.0"), (120.1, "120.1")]
)
def test_what_is_enough_is_no_less(grams, enough):
    scales = Scales.of(Shop(scenario(EXAMPLE, file="x.toml", target_required=True)).text)
    assert str(scales.enough(grams)).rstrip("0").rstrip(".") == enough.rstrip("0").rstrip(".")
