"""One CG offset for a line: found where an oracle knows it, proven where there is none.

With all parts on the pin axis, a given c makes every equation linear in the densities: then linprog
on the oracle's figures says whether there is a line-up. RGs about the CG are those about the centre
with c² m taken off across the pin.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from optimizer_texts import read
from oracles.balls import about_centre, weight_and_radii
from oracles.lineups import INCH, RANGES, Line, manufactured
from scipy.optimize import least_squares, linprog

from optimizer.ball.figures import CG_OFFSET
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.proof.proof import Relaxation
from optimizer.questions.trade.trade import trade
from optimizer.questions.why_not.diagnosis import diagnose
from optimizer.questions.window.window import window
from optimizer.scatter.good import bands

ROOT = Path(__file__).parents[3]
KINDS = ["aligned", "aligned triaxial", "tilted 15", "triaxial", "off axis"]


def offset_of(line: Line, densities: np.ndarray, about: str = "cg") -> float:
    return float(np.linalg.norm(weight_and_radii(line.solids, densities, about)[2]))


def made(number: int, kind: str, about: str = "cg") -> tuple[Line, np.ndarray]:
    """A line of one weight that asks for the offset of the ball it was made of."""
    line, densities = manufactured(np.random.default_rng([18, number]), kind, about)
    offset = offset_of(line, np.array(densities))
    return line.but(offset=(offset, offset), top=(None, None)), np.array(densities)


def two_weights(number: int, kind: str) -> Line:
    """A line of two weights of one mould with the same low RG, differential and offset.

    The second ball's densities are solved for by least squares on the oracle's figures.
    """
    line, first = made(number, kind)
    mass = line.weights["15"]

    def figures(densities):
        m, radii, cg = weight_and_radii(line.solids, densities, line.about)
        return np.array([m / 1000, radii[0], radii[2] - radii[0], np.linalg.norm(cg)])

    aim = figures(first) - [0.15, 0.0, 0.0, 0.0]
    ends, close = tuple(np.array(RANGES).T), {"xtol": 1e-15, "ftol": 1e-15, "gtol": 1e-15}
    found = least_squares(lambda x: figures(x) - aim, first, bounds=ends, **close)
    if np.max(np.abs(found.fun)) > 1e-9:
        return two_weights(number + 100, kind)
    return line.but(weights={"15": mass, "14": mass - 150.0})


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("number", [0, 1, 3])
def test_a_manufactured_offset_is_found(solved, kind, about, number):
    """The oracle measures what was found: the offset asked for, to rounding.

    Four densities and four equations. Of 20 balls of each kind, about each point, all are found but
    the second off the axis, whose offset is 0.03 mm: that one is undecided.
    """
    line, _ = made(number, kind, about)
    result = solved(line)
    assert result.status == "feasible"
    (weight,) = result.weights
    found = offset_of(line, weight.ball.densities, about)
    assert found == pytest.approx(line.offset[0], abs=2e-4)
    (off,) = (off for off in weight.deviations if off.figure == CG_OFFSET)
    assert off.measured == pytest.approx(found, abs=1e-9)
    assert off.asked == pytest.approx(line.offset[0], abs=1e-12)


@pytest.mark.parametrize("kind", ["aligned", "tilted 15", "off axis"])
def test_two_weights_have_one_offset(solved, kind):
    result = solved(two_weights(1, kind))
    assert result.status == "feasible"
    line = two_weights(1, kind)
    for weight in result.weights:
        found = offset_of(line, weight.ball.densities)
        assert found == pytest.approx(line.offset[0], abs=2e-4)


@pytest.mark.parametrize("kind", ["aligned", "tilted 15"])
def test_a_free_offset_is_one_for_the_line(solved, kind):
    """Between values around the known one: what is chosen is what every ball measures."""
    line = two_weights(1, kind)
    span = (0.9 * line.offset[0], 1.1 * line.offset[0])
    result = solved(line.but(offset=span))
    assert result.status == "feasible"
    chosen = result.figures[-1]
    assert span[0] <= chosen <= span[1]
    for weight in result.weights:
        assert offset_of(line, weight.ball.densities) == pytest.approx(chosen, abs=2e-4)
    fixed = solved(line)
    assert result.smallest.tolerances >= fixed.smallest.tolerances - 1e-3


def test_no_offset_at_all_off_the_pin_axis(solved):
    """An offset of 0 is three equations there: the CG must come back from the side, too."""
    line, _ = made(0, "off axis")
    free = line.but(weights={"15": 6500.0}, rg=(5.5, 7.5), differential=(0.0, 1.0))
    free = free.but(offset=(0.0, 0.0))
    result = solved(free)
    assert result.status == "feasible"
    (weight,) = result.weights
    assert offset_of(line, weight.ball.densities) <= 2e-4


def possible(line: Line, c: float) -> bool:
    """Whether an aligned line of one weight has densities with its CG at c along the pin."""
    (mass,), units = line.weights.values(), np.eye(len(line.solids))
    rows = [about_centre(line.solids, unit) for unit in units]
    m = np.array([row[0] for row in rows])
    first = np.array([row[1][2] for row in rows])
    inertia = np.array([np.diag(row[2]) for row in rows]).T
    less = c * c if line.about == "cg" else 0.0
    x, y, z = inertia[0] - less * m, inertia[1] - less * m, inertia[2]
    low, high = line.rg[0] ** 2 * mass, (line.rg[0] + line.differential[0]) ** 2 * mass
    axes = (x, y, z)
    for a, b in product(range(3), repeat=2):
        if a == b:
            continue
        (rest,) = {0, 1, 2} - {a, b}
        found = linprog(
            np.zeros(len(m)),
            A_eq=[m, first, axes[a], axes[b]],
            b_eq=[mass, c * mass, low, high],
            A_ub=[-axes[rest], axes[rest]],
            b_ub=[-low, high],
            bounds=line.ranges,
        )
        if found.status == 0:
            return True
    return False


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("kind", ["aligned", "aligned triaxial"])
@pytest.mark.parametrize("number", range(2))
def test_whether_there_is_an_exact_line_up_is_what_linprog_says(lineup, kind, about, number):
    """On either side of the centre, at offsets near the known one and far from it.

    The low RG and differential are those of another ball, so that none need be possible.
    """
    line, _ = made(number, kind, about)
    seen = set()
    for share in (0.0, 0.5, 1.0, 2.0, 8.0, 30.0):
        c = share * line.offset[0]
        for shift in (0.0, 0.03):
            asked = line.but(offset=(c, c), rg=(line.rg[0] + shift,) * 2)
            proven = Relaxation(lineup(asked), LinearSolver()).verdict().proven
            can = possible(asked, c) or possible(asked, -c)
            assert proven == (not can), (share, shift)
            seen.add(can)
    assert seen == {True, False}


@pytest.mark.parametrize("kind", KINDS)
def test_the_tolerance_is_a_band(lineup, kind):
    """With every density given, what the ball measures is off by so many tolerances, by hand."""
    line, densities = made(3, kind)
    known = line.offset[0]
    given = line.but(ranges=[(x, x) for x in densities], offset_allowed=0.1 * known)
    for by, missed in ((0.0, False), (0.95, False), (-0.95, False), (1.1, True), (-1.1, True)):
        asked = known + by * given.offset_allowed
        some = lineup(given.but(offset=(asked, asked)))
        band = Relaxation(replace(some, within=True), LinearSolver()).verdict()
        if kind.startswith("aligned"):
            assert band.proven == missed
        assert not (band.proven and not missed)


def test_within_tolerance_is_told_with_the_offset_off(solved):
    """All densities given, the offset asked for half a tolerance away."""
    line, densities = made(3, "aligned")
    given = line.but(ranges=[(x, x) for x in densities])
    asked = line.offset[0] + 0.5 * given.offset_allowed
    result = solved(given.but(offset=(asked, asked)))
    assert result.status == "within_tolerance"
    label, off = result.largest_deviation
    assert (label, off.figure) == ("15", CG_OFFSET)
    assert off.tolerances == pytest.approx(-0.5, abs=0.05)
    far = line.offset[0] + 1.5 * given.offset_allowed
    assert solved(given.but(offset=(far, far))).status == "infeasible"


def asking(text: str, offset: float) -> str:
    """A scenario that asks for an offset, in its unit of length, ± 0.002."""
    asked = f"cg_offset = {offset}\ntolerance    = {{ cg_offset = 0.002,"
    assert text.count("tolerance    = {") == 1
    return text.replace("tolerance    = {", asked)


def test_why_not_names_the_offset(solved, juniper):
    """0.2 in of offset is 12 oz of top weight: no ball of Juniper's densities has it."""
    result = solved(asking(juniper, 0.2))
    assert result.status == "infeasible"
    found = diagnose(result)
    claims = {claim.figure for one in found.conflicts for claim in one.claims if not claim.of}
    assert CG_OFFSET in claims
    assert ("target", "cg_offset") in {c.path for r in found.remedies for c in r.changes}
    for remedy in found.remedies:
        for weight in remedy.result.weights:
            (off,) = (off for off in weight.deviations if off.figure == CG_OFFSET)
            assert abs(off.tolerances) <= 1.0


def test_equal_offsets_are_not_equal_top_weights(solved):
    """At one offset, top weight goes with the weight: |c|·W/a, by hand from what is printed."""
    result = solved(
        asking((ROOT / "scenarios" / "juniper.toml").read_text(encoding="utf-8"), 0.045)
    )
    assert result.accepted
    for weight in result.weights:
        ball = weight.ball
        offset, pounds = CG_OFFSET.value(ball) / INCH, ball.properties.mass / 453.59237
        assert abs(offset - 0.045) <= 0.002
        assert ball.top_weight / 28.349523125 == pytest.approx(
            offset * 16 * pounds / (ball.map.arm / INCH)
        )


def test_a_window_at_an_offset_is_what_linprog_says(lineup):
    """Points of the plane inside it are possible on some side of the centre, others aren't.

    The window is found, not proven; points whose surroundings are not all alike lie on its edge.
    """
    line, _ = made(1, "aligned")
    found = window(read(line.text()))
    assert found.holds_target
    c, near, seen = line.offset[0], 1e-3, set()
    corners = np.vstack([band.outline for band in found.common.bands])
    low, high = corners.min(axis=0), corners.max(axis=0)
    wide = 0.3 * (high - low)
    for rg, apart in np.random.default_rng(1).uniform(low - wide, high + wide, (60, 2)).tolist():
        around = [(rg + a, apart + b) for a, b in product((-near, 0.0, near), repeat=2)]
        inside = {found.common.holds(*point) for point in around}
        if apart > near and len(inside) == 1:
            asked = line.but(rg=(rg, rg), differential=(apart, apart))
            assert inside == {possible(asked, c) or possible(asked, -c)}
            seen |= inside
    assert seen == {True, False}


def test_a_curve_over_offsets_is_what_solve_finds(solved):
    """With a value of the curve in the file, solve has the same smallest margin."""
    line = two_weights(1, "aligned")
    line = line.but(rg=(line.rg[0] - 0.05, line.rg[0] + 0.05))
    span = (0.9 * line.offset[0], 1.1 * line.offset[0])
    curve = trade(read(line.but(offset=span).text()), CG_OFFSET)
    assert curve.best is not None
    for spot in (curve.spots[0], curve.best, curve.spots[-1]):
        (value,) = {figure for figure in spot.figures if figure == pytest.approx(spot.value)}
        result = solved(line.but(offset=(value, value)))
        assert result.status == ("feasible" if spot.feasible else "within_tolerance")
        if spot.feasible:
            assert result.smallest.tolerances == pytest.approx(spot.tolerances, abs=2e-2)


def test_a_good_ball_has_the_offset_asked_for(lineup):
    """Within its tolerance: one band more than without."""
    line, _ = made(1, "aligned")
    (one,), (plain,) = lineup(line).maps, lineup(line.but(offset=None)).maps
    figures = (line.rg[0], line.differential[0])
    more = set(bands(one, (*figures, line.offset[0]))) - set(bands(plain, figures))
    low, high = line.offset[0] - line.offset_allowed, line.offset[0] + line.offset_allowed
    assert [(b.figure, b.low, b.high) for b in more] == [
        ("CG offset", pytest.approx(low), pytest.approx(high))
    ]
