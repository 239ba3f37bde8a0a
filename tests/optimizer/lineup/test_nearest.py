"""When the target is out of reach: the ball within the limits that misses it least."""

from __future__ import annotations

import numpy as np
import pytest
from optimizer_texts import shipped
from oracles.balls import Ellipsoid, about_centre
from oracles.lineups import INCH, POUND, RADIUS, RANGES, manufactured

from optimizer.questions.line_up.data import solution

TEXT = shipped("two-pours")
TOLERANCE = (0.06 * POUND, 0.003 * INCH, 0.001 * INCH)
SOLIDS = (
    Ellipsoid((RADIUS,) * 3),
    Ellipsoid((2.6 * INCH, 2.6 * INCH, 3.2 * INCH), host=0),
)


def _off(block, weight):
    """The deviations of two-pour balls, in tolerances (3, k), by the oracle; `block` (k,)."""
    unit = [about_centre(SOLIDS, one) for one in np.eye(2)]
    rho = np.column_stack([np.full_like(block, 1.18), block])
    mass = rho @ [one[0] for one in unit]
    across, along = (np.sqrt(rho @ [one[2][k, k] for one in unit] / mass) for k in (0, 2))
    low, high = np.minimum(across, along), np.maximum(across, along)
    off = [mass - weight * POUND, low - 2.6 * INCH, high - low - 0.030 * INCH]
    return np.abs(off) / np.array(TOLERANCE)[:, None]


@pytest.fixture(scope="module")
def result(solved):
    return solved(TEXT)


def test_the_class_weight_is_kept_where_it_can_be(result):
    """One density is free, and the class weight settles it: of 20 001 over the whole range."""
    assert result.status == "infeasible"
    assert result.infeasible.loose == ()
    wanted = {"16": 15.90, "15": 15.12, "14": 14.12, "13": 13.12, "12": 12.12}
    blocks = np.linspace(0.55, 1.95, 20001)
    for weight in result.weights:
        block = float(weight.ball.densities[1])
        off = [abs(one.tolerances) for one in weight.deviations]
        assert off == pytest.approx(_off(np.array([block]), wanted[weight.label])[:, 0], abs=1e-6)
        assert block == pytest.approx(
            blocks[np.argmin(_off(blocks, wanted[weight.label])[0])], abs=1e-4
        )


def test_no_density_comes_nearer_where_the_weight_can_not_be_made(solved):
    """Weight, RG and differential are then let go alike."""
    wanted = 18.90
    result = solved(TEXT.replace("16 = 15.90", f"16 = {wanted}"))
    assert result.infeasible.loose == ("16",)
    found = max(abs(off.tolerances) for off in result.weights[0].deviations)
    scan = np.max(_off(np.linspace(0.55, 1.95, 20001), wanted), axis=0)
    assert found <= scan.min() + 0.02  # the step of the stated density, 1e-4, in tolerances


def test_the_limit_that_stops_it_is_named(solved):
    """A weight that only a heavier block could make: its upper end stands in the way."""
    result = solved(TEXT.replace("16 = 15.90", "16 = 18.90"))
    assert result.status == "infeasible"
    heavy = result.weights[0]
    assert heavy.ball.densities[1] == 1.95
    stops = {(m.weight, m.words, m.part) for m in result.infeasible.stops}
    assert ("16", "density max", "block") in stops


def test_every_weight_is_told_its_own_status_by_its_own_nearness(result):
    """Weights that share nothing don't wait for one another: the RG rises as the weight falls."""
    rgs = [weight.ball.radii.low for weight in result.weights]
    assert rgs == sorted(rgs)
    alone = [max(abs(off.tolerances) for off in weight.deviations) for weight in result.weights]
    assert len({round(off, 3) for off in alone}) == len(alone)


def test_limits_are_kept_before_targets(solved):
    """With top weight asked for, the nearest ball of a moved block has it."""
    moved = TEXT.replace('inside   = "cover"', 'inside   = "cover"\nat = [0, 0, 0.15]')
    limited = moved.replace("[limits]", "[limits]\ntop_weight = { max = 0.9, tolerance = 0.25 }")
    result = solved(limited)
    assert result.status == "infeasible"
    for weight in result.weights:
        for margin in weight.margins:
            if margin.words in {"top weight max", "density min", "density max"}:
                assert margin.slack > -0.02 * (margin.tolerance or 1.0)
    free = solved(moved)
    tops = [w.ball.top_weight for w in free.weights], [w.ball.top_weight for w in result.weights]
    assert max(tops[0]) > 0.9 * 28.35 > max(tops[1]) - 0.3


def test_what_can_still_be_met_is_met(solved):
    """A core the same all round its axis has no intermediate differential: that is off for good.

    The next largest deviation is then made least, and so on: weight, RG and differential are met.
    """
    random = np.random.default_rng(12)
    line, _ = manufactured(random, "aligned", "cg")
    result = solved(line.but(intermediate=(0.5 * line.differential[0],) * 2))
    assert result.status == "infeasible"
    off = {one.figure.key: abs(one.tolerances) for one in result.weights[0].deviations}
    assert off.pop("intermediate_differential") > 0.5
    assert max(off.values()) < 0.05


@pytest.mark.turns(3)
@pytest.mark.parametrize(
    "asked", [("0.042 ", "0.080 "), ("2.550 ", "2.700 "), ("2.550 ", "2.400 ")]
)
def test_the_limits_that_are_told_are_those_whose_moving_helps(solved, juniper, asked):
    """Each end of each range of one weight is moved out by 0.01 g/cm³, alone, and solved again.

    Those that bring the largest deviation down are the stops, and no others.
    """
    alone = "\n".join(
        line for line in juniper.splitlines() if line.split(" ", 1)[0] not in {"15", "14", "13"}
    ).replace(f"= {asked[0]}", f"= {asked[1]}")
    # one material a part, so that a range is one part's
    alone = alone.replace("[materials.dense]", GIRDLE + "[materials.dense]")
    head, _, tail = alone.rpartition('material = "filled"')
    alone = head + 'material = "band"' + tail

    def worst(text):
        result = solved(text)
        assert result.status == "infeasible"
        return max(abs(off.tolerances) for off in result.weights[0].deviations)

    result, before = solved(alone), worst(alone)
    told = {(m.part, m.words) for m in result.infeasible.stops}
    ranges = {
        "cover": (1.12, 1.22),
        "mantle": (0.62, 1.45),
        "spindle": (1.00, 2.90),
        "keel": (1.60, 3.60),
        "girdle": (1.00, 2.90),
    }
    material = {"cover": "shell", "mantle": "light", "spindle": "filled", "keel": "dense"}
    for part, (low, high) in ranges.items():
        heading = f"[materials.{material.get(part, 'band')}]"
        start = alone.index(heading)
        old = f"density   = [{low:.2f}, {high:.2f}]"
        for side, new in (
            ("min", f"density   = [{low - 0.01:.2f}, {high:.2f}]"),
            ("max", f"density   = [{low:.2f}, {high + 0.01:.2f}]"),
        ):
            assert old in alone[start:]
            moved = alone[:start] + alone[start:].replace(old, new, 1)
            helps = before - worst(moved) > 0.008  # more than the stating of densities does
            assert helps == ((part, f"density {side}") in told), (part, side)


GIRDLE = """\
[materials.band]
density   = [1.00, 2.90]
tolerance = 0.025

"""


@pytest.mark.turns(4)
@pytest.mark.parametrize("number", range(12))
def test_what_is_stated_of_the_nearest_ball_keeps_its_ranges_to_the_last_digit(solved, number):
    """Ends between steps and a target far off: most balls have a density at an end, as written."""
    random = np.random.default_rng([22, number])
    line, _ = manufactured(random, "aligned", "cg")
    ranges = [(a + random.uniform(0, 0.04), b - random.uniform(0, 0.1)) for a, b in RANGES]
    rg, differential = line.rg[0] * 1.04, line.differential[0] + 0.08
    line = line.but(ranges=ranges, rg=(rg, rg), differential=(differential, differential))
    result = solved(line)
    assert result.status == "infeasible"
    assert "breaks a limit" not in result.infeasible.proof
    (weight,) = solution(result)["weights"]
    densities = list(weight["densities_g_cm3"].values())
    assert all(a <= rho <= b for rho, (a, b) in zip(densities, ranges, strict=True))
