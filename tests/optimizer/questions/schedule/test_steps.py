"""Line-ups on whole steps against every one of them, tried and measured by an oracle."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from oracles.lineups import OUNCE, RANGES, Line, manufactured
from oracles.steps import grid, least, measured, pointed

from optimizer.ball.figures import DIFFERENTIAL, LOW_RG
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.questions.schedule.steps.group import SAME
from optimizer.questions.schedule.steps.steps import on_steps
from optimizer.scenario import scenario

NOTHING_BETTER = 1e-3
"""Tolerances: what an answer may be worse than the best that there is."""
KINDS = [
    ("aligned", "centre", False),
    ("aligned", "cg", False),
    ("aligned triaxial", "cg", True),
    ("tilted 15", "cg", False),
    ("tilted 80", "cg", False),
    ("triaxial", "cg", True),
    ("off axis", "cg", False),
    ("off axis", "centre", True),
    ("round", "cg", False),
]
ON_AXIS = ("aligned", "aligned triaxial", "round")


def _solved(line: Line | str, *steps: float | None) -> LineupResult:
    """Return a line's line-up, its pours having these steps (the last one for the rest)."""
    text = line if isinstance(line, str) else line.text()
    some = scenario(text, file="line.toml", target_required=True)
    each = [*steps, *[steps[-1]] * len(some.pours)]
    pours = tuple(replace(p, step=s) for p, s in zip(some.pours, each, strict=False))
    return solve_lineup(replace(some, pours=pours))


def _line(random, kind, about, *, intermediate=False, **changes) -> Line:
    return manufactured(random, kind, about, intermediate=intermediate)[0].but(**changes)


def _densities(result: LineupResult) -> list[np.ndarray]:
    return [weight.ball.densities for weight in result.weights]


def _best_of_all(line: Line, result: LineupResult, step: float, reach: int) -> float:
    """Return how far off the best of every choice within reach is, by the oracle."""
    (found,) = _densities(result)
    choices = [grid(x, step, reach, s) for x, s in zip(found, line.ranges, strict=True)]
    return least(line, "15", choices)


@pytest.mark.turns(8)
@pytest.mark.parametrize("step", [0.01, 0.05])
@pytest.mark.parametrize("made", [pointed, _line])
@pytest.mark.parametrize(("kind", "about", "intermediate"), KINDS)
def test_no_densities_on_the_steps_come_nearer(kind, about, intermediate, made, step):
    """Every choice within the reach that is told, 7⁴ or 17⁴ of them, is measured by the oracle.

    What is told of the best one agrees with it, and what is proven is true. On the pin axis all is
    proven.
    """
    random = np.random.default_rng([len(kind), len(about), intermediate])
    for _ in range(4):
        line = made(random, kind, about, intermediate=intermediate)
        result = _solved(line, step)
        told = on_steps(result)
        ((group,), (poured,)) = told.groups, _densities(told.lineup)
        np.testing.assert_allclose(poured / step, np.round(poured / step), atol=1e-9)
        best = _best_of_all(line, result, step, group.reach)
        (off,), (room,) = measured(line, "15", poured[None])
        assert off == pytest.approx(group.off, abs=1e-6)
        assert off <= best + NOTHING_BETTER
        assert room >= -1e-9
        assert told.held == (off <= 1.0)
        assert (group.none_nearer is not None) == (kind in ON_AXIS)
        assert not group.none_nearer or off <= best + SAME


@pytest.mark.turns(2)
@pytest.mark.parametrize("kind", ["aligned", "off axis"])
def test_an_offset_asked_for_counts_like_the_other_figures(kind):
    """It is asked for where a ball without it lies; every choice within reach is measured."""
    random, proven = np.random.default_rng(7), 0
    for _ in range(3):
        line = pointed(random, kind, "cg", intermediate=False)
        (weight,) = _solved(line, None).weights
        offset = float(np.linalg.norm(weight.ball.properties.cg))
        asking = line.but(offset=(offset, offset), offset_allowed=0.002)
        result = _solved(asking, 0.01)
        assert result.status == "feasible"
        told = on_steps(result)
        ((group,), (poured,)) = told.groups, _densities(told.lineup)
        best = _best_of_all(asking, result, 0.01, group.reach)
        (off,), _ = measured(asking, "15", poured[None])
        assert off == pytest.approx(group.off, abs=1e-6)
        assert off <= best + NOTHING_BETTER
        assert not group.none_nearer or off <= best + SAME
        proven += group.none_nearer is not None
    assert proven == (3 if kind == "aligned" else 0)


@pytest.mark.turns(3)
@pytest.mark.parametrize("kind", ["aligned", "tilted 15", "off axis"])
def test_a_top_weight_that_binds_is_kept(kind):
    """A band of 0.02 oz around what the line-up has: without it, the best would lie outside.

    Where the oracle finds no choice in the band, that is said.
    """
    random, left, none = np.random.default_rng(9), 0, 0
    for _ in range(8):
        line = pointed(random, kind, "cg", intermediate=False)
        (weight,) = _solved(line, None).weights
        ounces = weight.ball.top_weight / OUNCE
        narrow = line.but(top=(ounces - 0.01, ounces + 0.01))
        result = _solved(narrow, 0.02)
        told = on_steps(result)
        (group,), (poured,) = told.groups, _densities(told.lineup)
        (off,), (room,) = measured(narrow, "15", poured[None])
        best = _best_of_all(narrow, result, 0.02, group.reach)
        assert group.kept == (room >= -1e-9) == np.isfinite(best)
        assert off <= best + NOTHING_BETTER
        (free,) = _densities(on_steps(_solved(line, 0.02)).lineup)
        left += measured(narrow, "15", free[None])[1][0] < 0.0
        if not group.kept:
            none += 1
            assert "15 breaks its limit top weight m" in told.lineup.infeasible.proof
    assert left > none


def test_five_densities_of_the_example_are_the_best_of_all(juniper):
    """7⁵ balls of each weight; their moments are the program's own, the rest is numpy's.

    With the CG on the pin axis, and the axes of the ball along it and across.
    """
    scenario_ = replace(
        juniper.scenario, pours=tuple(replace(p, step=0.01) for p in juniper.scenario.pours)
    )
    result = solve_lineup(scenario_)
    told = on_steps(result)
    for group, weight, poured in zip(told.groups, result.weights, told.lineup.weights, strict=True):
        one = weight.ball.map
        choices = [
            grid(x, 0.01, group.reach, (p.low, p.high))
            for x, p in zip(weight.ball.densities, one.pours, strict=True)
        ]
        balls = np.stack(np.meshgrid(*choices, indexing="ij"), axis=-1).reshape(-1, 5)
        xx, zz, z, m = (balls @ one.moments[:, i, j] for i, j in ((0, 0), (2, 2), (2, 3), (3, 3)))
        rg = np.sqrt(np.sort([2 * xx / m, (xx + zz - z * z / m) / m], axis=0))
        low, apart = one.target[LOW_RG], one.target[DIFFERENTIAL]
        off = [
            (m - one.mass) / one.mass_tolerance,
            (rg[0] - low.low) / low.tolerance,
            (rg[1] - rg[0] - apart.low) / apart.tolerance,
        ]
        best = float(np.min(np.max(np.abs(off), axis=0)))
        assert group.none_nearer
        assert group.off == pytest.approx(best, abs=1e-6)
        assert max(abs(d.tolerances) for d in poured.deviations) == pytest.approx(best, abs=1e-6)


def _two_weights(random, kind="aligned") -> Line:
    """A cover that is shared by two weights, the second 150 g less: a feasible line-up."""
    while True:
        line, _ = manufactured(random, kind, "cg")
        weights = {"15": line.weights["15"], "14": line.weights["15"] - 150.0}
        line = line.but(weights=weights, same={"cover": '"all"'}, top=(None, None))
        if _solved(line, 0.01).status == "feasible":
            return line


def test_a_density_that_is_shared_is_one_and_the_best_for_the_line():
    """For each cover's density the weights come apart, so that all choices can be tried.

    Each weight is then the best that there is at the cover's density.
    """
    random = np.random.default_rng(11)
    for _ in range(5):
        line = _two_weights(random)
        result = _solved(line, 0.02)
        told = on_steps(result)
        ((group,), found, poured) = told.groups, _densities(result), _densities(told.lineup)
        assert group.labels == ("15", "14")
        assert poured[0][0] == poured[1][0]
        choices = [
            [grid(x, 0.02, group.reach, s) for x, s in zip(one, RANGES, strict=True)]
            for one in found
        ]
        best = min(
            max(
                least(line, label, [cover, *own[1:]])
                for label, own in zip(group.labels, choices, strict=True)
            )
            for cover in choices[0][0][:, None]
        )
        assert group.off == pytest.approx(best, abs=NOTHING_BETTER)
        for label, own, ball in zip(group.labels, choices, poured, strict=True):
            (off,), _ = measured(line, label, ball[None])
            assert off <= least(line, label, [ball[:1], *own[1:]]) + NOTHING_BETTER


@pytest.mark.parametrize("fine", [0, 2])
def test_a_density_without_a_step_takes_up_what_the_others_leave(fine):
    """The cover or the block has none: tried with each choice of the others, 0.002 g/cm³ apart.

    As far as its reach goes: what weighs as much as three steps of all the others.
    """
    random, helped = np.random.default_rng(5), 0
    for _ in range(3):
        line = pointed(random, "aligned", "cg", intermediate=False)
        steps = [None if i == fine else 0.02 for i in range(4)]
        result = _solved(line, *steps)
        told = on_steps(result)
        ((group,), (found,), (poured,)) = told.groups, _densities(result), _densities(told.lineup)
        others = [i for i in range(4) if i != fine]
        np.testing.assert_allclose(poured[others] / 0.02, np.round(poured[others] / 0.02))
        assert poured[fine] == round(poured[fine], 4)
        solid = np.array([4 / 3 * np.pi * np.prod(one.axes) for one in line.solids])
        own = solid - np.r_[solid[1:], 0.0]
        far = group.reach * 0.02 * sum(own[others]) / own[fine]
        choices = [grid(x, 0.02, group.reach, s) for x, s in zip(found, RANGES, strict=True)]
        low, high = RANGES[fine]
        choices[fine] = np.clip(np.arange(found[fine] - far, found[fine] + far, 0.002), low, high)
        off = measured(line, "15", poured[None])[0][0]
        assert off <= least(line, "15", choices) + (SAME if group.none_nearer else NOTHING_BETTER)
        stepped = on_steps(_solved(line, 0.02)).groups[0].off
        assert off <= stepped + NOTHING_BETTER
        helped += off < stepped - NOTHING_BETTER
    assert helped >= 2


@pytest.mark.parametrize("seed", [12, 13, 14])
def test_a_shared_density_may_have_the_only_step(seed):
    """The cover's; what each weight then has of its own takes up all that the step leaves."""
    told = on_steps(_solved(_two_weights(np.random.default_rng(seed)), 0.05, None))
    covers = [densities[0] for densities in _densities(told.lineup)]
    assert covers[0] == covers[1] == pytest.approx(0.05 * round(covers[0] / 0.05))
    for weight in told.lineup.weights:
        assert max(abs(off.tolerances) for off in weight.deviations) < 0.01


def test_a_bound_that_is_off_the_steps_is_not_crossed():
    """Ranges that end between two steps, with the densities of a line-up near their ends."""
    random, at_the_end = np.random.default_rng(8), 0
    for _ in range(12):
        line, densities = manufactured(random, "aligned", "cg")
        ranges = [(round(d - 0.004, 3), round(d + 0.017, 3)) for d in densities]
        line = line.but(ranges=ranges)
        result = _solved(line, 0.01)
        if result.status != "feasible":
            continue
        told = on_steps(result)
        (poured,) = _densities(told.lineup)
        choices = [grid(x, 0.01, 3, s) for x, s in zip(_densities(result)[0], ranges, strict=True)]
        assert all(x in choice for x, choice in zip(poured, choices, strict=True))
        assert told.groups[0].off <= least(line, "15", choices) + NOTHING_BETTER
        at_the_end += sum(x in (min(c), max(c)) for x, c in zip(poured, choices, strict=True))
    assert at_the_end >= 12


def test_a_range_that_holds_no_step_is_said_and_not_stretched():
    line = _line(np.random.default_rng(1), "aligned", "cg")
    (found,) = _densities(_solved(line, None))
    tight = line.but(ranges=[(found[0] - 0.02, found[0] + 0.02), *RANGES[1:]])
    told = on_steps(_solved(tight, 0.5, 0.01))
    assert not told.held
    assert told.lineup.status == "undecided"
    assert [m.words for m in told.broken] == [
        "density min" if told.broken[0].value < found[0] else "density max"
    ]
    assert "15 breaks its limit cover density m" in told.lineup.infeasible.proof


def test_steps_so_coarse_that_nothing_holds_are_said_with_what_misses():
    """With steps of 0.2 g/cm³ nothing within eight of them holds: all choices are tried."""
    line = _line(np.random.default_rng(4), "tilted 15", "cg")
    result = _solved(line, 0.2)
    told = on_steps(result)
    choices = [grid(x, 0.2, 8, s) for x, s in zip(_densities(result)[0], RANGES, strict=True)]
    assert 1.0 < told.groups[0].off <= least(line, "15", choices) + NOTHING_BETTER
    assert (told.held, told.lineup.status) == (False, "undecided")
    missed = {off.figure.words: abs(off.tolerances) for _, off in told.missed}
    assert max(missed.values()) == pytest.approx(told.groups[0].off)
    for figure, off in missed.items():
        assert f"15 misses its {figure} by {off:.2f} tolerances" in told.lineup.infeasible.proof
    assert "within 8 steps" in told.lineup.infeasible.proof


def test_without_steps_nothing_changes(juniper):
    told = on_steps(juniper)
    assert told.lineup.weights == juniper.weights
    assert told.lineup.status == "feasible"
    assert told.groups == ()
    assert told.held


def test_a_given_density_stays_as_it_is():
    line, densities = manufactured(np.random.default_rng(2), "aligned", "centre")
    given = line.but(
        ranges=[(densities[0],) * 2, *RANGES[1:]], rg=(line.rg[0] - 0.02, line.rg[0] + 0.02)
    )
    result = _solved(given, 0.05, 0.01)
    told = on_steps(result)
    assert _densities(told.lineup)[0][0] == densities[0]
    assert all(pour.step for pour in told.lineup.weights[0].ball.map.pours)


def test_a_free_rg_stays_what_it_was_found_to_be_and_ties_no_weights():
    line, _ = manufactured(np.random.default_rng(2), "aligned", "cg")
    weights = {"15": line.weights["15"], "14": line.weights["15"] - 100.0}
    free = line.but(weights=weights, rg=(line.rg[0] - 0.05, line.rg[0] + 0.05), top=(None, None))
    result = _solved(free, 0.01)
    told = on_steps(result)
    assert [group.labels for group in told.groups] == [("15",), ("14",)]
    assert told.lineup.figures == result.figures
    for label, found, poured in zip(
        ("15", "14"), _densities(result), _densities(told.lineup), strict=True
    ):
        as_found = free.but(rg=(result.figures[0],) * 2)
        choices = [grid(x, 0.01, 3, s) for x, s in zip(found, RANGES, strict=True)]
        (off,), _ = measured(as_found, label, poured[None])
        assert off <= least(as_found, label, choices) + NOTHING_BETTER


def test_a_line_up_that_was_not_found_is_not_put_on_steps():
    line = _line(np.random.default_rng(2), "aligned", "cg").but(rg=(3.0, 3.0))
    with pytest.raises(ValueError, match="no densities to put on steps"):
        on_steps(_solved(line, 0.01))
