"""The share of good balls of Juniper, beside an oracle that draws and measures each ball by itself.

The solver's densities as stated; their ± as declared. Known: 59, 58, 47 and 54 % of the 16, 15, 14
and 13 lb balls if anything within the ± is equally likely (a reference program's).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from answers import example
from optimizer_texts import read, shipped
from oracles.chance import declared, good_shares

from optimizer.lineup.result import LineupResult
from optimizer.scatter.inputs import stated_inputs
from optimizer.scatter.line import Line

COUNT = 400_000
ROUNDS = 8
"""Of 2¹⁶ balls: their error is hardly more than of so many that are drawn."""


@pytest.fixture(scope="module")
def juniper() -> LineupResult:
    """The solved line."""
    return example("juniper")


def poured(result: LineupResult) -> dict[str, dict[str, float]]:
    """The densities by weight and part."""
    return {
        weight.label: {
            pour.part: float(density)
            for pour, density in zip(weight.ball.map.pours, weight.ball.densities, strict=True)
        }
        for weight in result.weights
    }


CASES = {
    "uniform": ("", {}, (59, 58, 47, 54), 1.0),
    "three sigma": ('declared = "3 sigma"', {"normal": True}, (87.5,) * 4, 4.0),
    "the diameter as usual": ("diameter = 0.005", {"diameter": 0.005}, (54, 53, 43, 49), 1.0),
    "half the mantle": ("density.mantle = 0.0075", {"mantle": 0.5}, (None, 81, None, None), 1.0),
}
"""What [spread] says, how the oracle is told, and what is known: per cent, and to how much."""


@pytest.mark.parametrize(("spread", "told", "known", "near"), CASES.values(), ids=CASES.keys())
def test_the_share_of_good_balls_is_the_oracles(juniper, spread, told, known, near) -> None:
    text = f"{shipped('juniper')}\n[spread]\n{spread}\n"
    its = declared(text)
    if "mantle" in told:
        its = replace(its, densities=its.densities | {"mantle": its.densities["mantle"] / 2})
    else:
        its = replace(its, **told)
    asked = replace(juniper, scenario=read(text))
    each, _ = Line.of(asked, stated_inputs(asked.scenario)).good(ROUNDS)
    oracle = good_shares(shipped("juniper"), poured(juniper), its, COUNT, 18)
    for (label, share), per_cent in zip(each.items(), known, strict=True):
        p = oracle[label]
        reach = 2.0 * (p * (1.0 - p) / COUNT) ** 0.5  # 95 % of so many drawn
        assert share.low - reach <= p <= share.high + reach, label
        if per_cent is not None:
            assert 100.0 * share.value == pytest.approx(per_cent, abs=near), label
