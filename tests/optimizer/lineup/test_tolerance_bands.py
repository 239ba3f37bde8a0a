"""Within tolerance: what the bands miss is proven, and what they hold is not.

All densities are given, or all but one that two weights share, so that hand arithmetic on the
oracle's figures says which it is.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from oracles.balls import weight_and_radii
from oracles.lineups import manufactured

from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.proof.proof import Relaxation

FIGURES = ("rg", "differential", "intermediate")
AT = {name: i for i, name in enumerate(("weight", *FIGURES))}


def _proven(one, *, within):
    return Relaxation(replace(one, within=within), LinearSolver()).verdict().proven


def _given(number, about, kind="aligned triaxial"):
    """A line of one weight whose densities are all given; its target is what they measure.

    The tolerances leave the intermediate differential above 0 and below the differential.
    """
    random = np.random.default_rng([5, number])
    while True:
        line, made = manufactured(random, kind, about, intermediate=True)
        inner, apart = line.intermediate[0], line.differential[0]
        room = min(inner, apart - inner)
        if kind == "aligned" or room > 0.003:
            break
    line = line.but(allowed=(30.0, 0.008, 0.1 * room, 0.1 * room), top=(None, None))
    return line.but(ranges=[(x, x) for x in made]), np.array(made)


def _off(line, figure, by):
    """The line with one figure of the target, or all class weights, off by so many tolerances."""
    step = by * line.allowed[AT[figure]]
    if figure == "weight":
        return line.but(weights={label: m + step for label, m in line.weights.items()})
    return line.but(**{figure: (getattr(line, figure)[0] + step,) * 2})


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("figure", AT)
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_each_figure_of_one_weight_has_its_own_band(lineup, about, figure, way):
    for number in range(4):
        line, _ = _given(number, about)
        for by, missed in ((0.98, False), (1.05, True), (2.0, True)):
            some = lineup(_off(line, figure, way * by))
            assert _proven(some, within=True) == missed, (number, by)
            assert _proven(some, within=False)


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("figure", FIGURES)
def test_a_figure_without_a_declared_tolerance_stays_exact(lineup, about, figure):
    """As the intermediate differential may be, and a class weight."""
    line, _ = _given(0, about)
    one = replace(lineup(_off(line, figure, 0.5)), within=True)
    assert not _proven(one, within=True)
    target = one.maps[0].target
    target |= {
        of: replace(span, tolerance=None)
        for of, span in target.items()
        if of == INTERMEDIATE_DIFFERENTIAL
    }
    maps = tuple(replace(m, target=target) for m in one.maps)
    assert _proven(replace(one, maps=maps), within=True) == (figure == "intermediate")
    heavy = lineup(_off(line, "weight", 0.5))
    assert not _proven(heavy, within=True)
    maps = tuple(replace(m, mass_tolerance=None) for m in heavy.maps)
    assert _proven(replace(heavy, maps=maps), within=True)


def _sharing(about, apart):
    """Two weights that share one mantle, all else given: so many tolerances of weight apart.

    The mantle that is right for one makes the other too heavy or too light by that.
    """
    line, made = _given(1, about, "aligned")
    heavy = line.weights["15"]
    weights = {"15": heavy, "14": heavy - apart * line.allowed[0]}
    ranges = [(x - 0.3, x + 0.3) if i == 1 else (x, x) for i, x in enumerate(made)]
    wide = (line.allowed[0], 1.0, 1.0, 1.0)
    return line.but(weights=weights, ranges=ranges, same={"mantle": '"all"'}, allowed=wide)


@pytest.mark.parametrize("about", ["cg", "centre"])
def test_weights_that_share_a_density_share_the_bands_middle(lineup, about):
    """|mass − class weight| ≤ τ for both, of one mass: 1.9 τ apart can be, 2.1 can't."""
    for apart, missed in ((0.0, False), (1.9, False), (2.1, True), (4.0, True)):
        some = lineup(_sharing(about, apart))
        assert _proven(some, within=True) == missed, apart
        assert _proven(some, within=False) == (apart > 0.0)


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("figure", FIGURES)
@pytest.mark.parametrize("wide", [0.01, 0.2])
def test_a_free_figure_is_one_for_the_line_and_each_weight_may_be_off_it(
    lineup, about, figure, wide
):
    """Two balls that are given: a common figure is within τ of both if they are 2 τ apart or less.

    The other figures' tolerances are as much as those balls need.
    """
    line, made = _given(2, about)
    other = made * (1.0, 1.03, 0.97, 1.04)
    balls = [weight_and_radii(line.solids, x, about) for x in (made, other)]
    own = np.array([(low, high - low, high - mid) for _, (low, mid, high), _ in balls])
    i = FIGURES.index(figure)
    middle = (own[0] + own[1]) / 2
    for times, missed in ((2.1, True), (1.9, False)):
        allowed = np.abs(own[0] - own[1])
        allowed[i] /= times
        span = (max(0.0, middle[i] - wide), middle[i] + wide)
        spans = {f: (m, m) for f, m in zip(FIGURES, middle.tolist(), strict=True)} | {figure: span}
        one = lineup(
            line.but(
                weights={"15": float(balls[0][0]), "14": float(balls[1][0])},
                allowed=(1.0, *allowed.tolist()),
                **spans,
            )
        )
        maps = tuple(_pouring(m, x) for m, x in zip(one.maps, (made, other), strict=True))
        assert _proven(_own_columns(one, maps), within=True) == missed, times


def _pouring(one, densities):
    """A weight class whose densities are given."""
    pours = zip(one.pours, densities.tolist(), strict=True)
    return replace(one, pours=tuple(replace(pour, low=x, high=x) for pour, x in pours))


def _own_columns(one, maps):
    return type(one).of(maps, {})


@pytest.mark.parametrize("about", ["cg", "centre"])
def test_the_axes_of_a_ball_keep_their_order_within_the_bands(lineup, about):
    """The bands of two RGs may overlap, and a limit holds what one ball's own RGs differ by.

    All densities are given: the limit is a tenth below, or above, what the ball is measured to be.
    """
    for number in range(6):
        line, made = manufactured(np.random.default_rng(number), "aligned triaxial", about)
        _, (_, middle, high), _ = weight_and_radii(line.solids, made, about)
        line = line.but(ranges=[(x, x) for x in made], top=(None, None))
        for share, missed in ((0.9, True), (1.1, False)):
            rule = f"intermediate_differential = {{ max = {10.0 * share * (high - middle)} }}"
            assert _proven(lineup(line.but(limits=rule)), within=True) == missed, number
