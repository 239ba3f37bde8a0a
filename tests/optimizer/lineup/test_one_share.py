"""One share of a blend for the line: none that is given by hand leaves more room."""

from __future__ import annotations

import numpy as np
import pytest
from answers import solved
from optimizer_texts import shipped

from optimizer.lineup.result import LineupResult
from optimizer.questions.schedule.pouring.schedule import schedule
from optimizer.scenario import scenario
from shared.errors import InputError

RANGE = 'share = { min = 0.30, max = 0.80, same = "all" }'
STOCKS = {"hard stock": 1.16, "soft stock": 1.07}
FILLERS = {"calcite": 2.71, "glass bubbles": 0.15}


@pytest.fixture(scope="module")
def hazel() -> str:
    """The example, whose share is to be found."""
    text = shipped("hazel")
    assert RANGE in text
    return text


def room(result: LineupResult) -> float:
    """The least room that densities move, in tolerances."""
    return min(m.tolerances for m in result.margins if m.movable and m.tolerances is not None)


def test_no_share_that_is_given_leaves_more_room(hazel: str) -> None:
    found = solved(hazel)
    assert found.status == "feasible"
    for share in np.arange(0.3, 0.81, 0.1):
        given = solved(hazel.replace(RANGE, f"share = {share:.1f}"))
        assert not given.accepted or room(given) <= room(found) + 1e-3
    each = solved(hazel.replace(', same = "all"', ""))
    assert room(each) >= room(found) - 1e-3


def test_every_cover_can_be_mixed_with_the_share_that_is_said(hazel: str) -> None:
    found = solved(hazel)
    (share,) = {p.recipe.share for p in found.scenario.pours if p.recipe is not None}
    assert share[0] == share[1]
    assert f"share = {share[0]}" in found.scenario.source
    (told,) = found.scenario.warnings
    assert f"hard stock is {100 * share[0]:g} % of the resin's mass in every pour" in told
    for weight in found.weights:
        density = float(weight.ball.densities[0])
        mix = found.scenario.pours[0].recipe.mix(density)
        assert mix.share == pytest.approx(share[0])
        assert mix.density == pytest.approx(density)


def test_what_is_weighed_gives_the_density_that_is_printed(hazel: str) -> None:
    """By the grams on the sheet: resin liquids lose 3 % of their volume; voids are 0.2 %."""
    plan = schedule(solved(hazel), balls=10)
    for weight in plan.classes:
        (cover,) = (c for c in weight.castings if c.part.name == "cover")
        grams = {line.ingredient: float(line.grams) for line in cover.batch.lines}
        resin = sum(grams[name] for name in STOCKS)
        liquid = sum(grams[name] / rho for name, rho in STOCKS.items())
        solid = sum(g / FILLERS[name] for name, g in grams.items() if name in FILLERS)
        density = 0.998 * sum(grams.values()) / (0.97 * liquid + solid)
        assert cover.batch.density == pytest.approx(density, rel=1e-12)
        place = weight.mixed.ball.map.places["cover"]
        assert weight.mixed.ball.densities[place] == pytest.approx(density, rel=1e-12)
        assert grams["hard stock"] / resin == pytest.approx(cover.batch.mix.share, rel=1e-12)
        parts = {line.ingredient: float(line.parts) for line in cover.batch.lines}
        assert sum(parts[name] for name in STOCKS) == pytest.approx(100.0, abs=0.011)


def test_where_no_share_was_found_nothing_is_called_impossible(hazel: str) -> None:
    """Cover and mantle of one blend, a step up that two shares allow, and no one share does."""
    text = hazel.replace('material = "light"', 'material = "shell"')
    text = text.replace("density   = [1.00, 2.90]", "density   = [0.60, 2.90]")
    text = text.replace("15 = 15.12\n14 = 14.12\n", "").replace("loading = 0.05", "loading = 0.02")
    named = '{ denser = "cover", than = "mantle", min = 0.06 }'
    text = text.replace("[limits]", f"[limits]\ndensity_step = {{ between = [{named}] }}")
    assert solved(text.replace(', same = "all"', "")).status == "feasible"
    found = solved(text)
    assert found.status == "undecided"
    assert found.infeasible is not None
    assert found.infeasible.proof.startswith("no one share of the blend was found that would do")


def test_what_no_shares_do_is_proven(hazel: str) -> None:
    found = solved(hazel.replace("rg           = 2.545", "rg           = 2.75"))
    assert found.status == "infeasible"
    assert "not even so is there a line-up" in found.scenario.warnings[-1]


def test_one_share_is_found_at_a_time(hazel: str) -> None:
    free = hazel.replace("diameter = 2.20", 'diameter = "wide"')
    free = free.replace(
        "[ingredients]", "[dimensions]\nwide = { min = 2.0, max = 2.3 }\n[ingredients]"
    )
    with pytest.raises(InputError, match="is to be found for the line, and so is a dimension"):
        scenario(free, file="t.toml", target_required=True)
