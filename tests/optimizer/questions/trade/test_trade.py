"""The curve of the smallest margin against a target: true at every value, and at every kink."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from operator import itemgetter

import answers
import numpy as np
import pytest
from answers import solved
from optimizer_texts import read, shipped
from oracles.lineups import Line, manufactured
from oracles.programs import program
from scipy.optimize import minimize_scalar

from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL, LOW_RG, TARGETED
from optimizer.ball.targets import Span
from optimizer.questions.sharing.pours import Point
from optimizer.questions.trade.curve import ERROR, FINEST
from optimizer.questions.trade.held_figure import HeldFigure, Limits, Sample
from optimizer.questions.trade.trade import Spot, Trade, trade
from shared.errors import InputError, SolverError

INCH = 2.54
FREE = "{ min = 2.510, max = 2.580 }"
STATED = 0.01
"""Tolerances: stating a density to 0.0001 g/cm³ takes half of it from a margin of ± 0.01."""


@pytest.fixture(scope="module")
def curve() -> Trade:
    return answers.curve("alder", LOW_RG)


def line(seed: int, about: str = "centre", *, width: float = 0.1, figure: int = 0) -> Line:
    """Two weights around a manufactured ball's, one figure free around its own, cm."""
    own, _ = manufactured(np.random.default_rng(seed), "aligned", about)
    mass, (rg, _), (differential, _) = (
        own.weights["15"],
        own.rg,
        own.differential,
    )
    own = own.but(weights={"15": mass, "14": 0.96 * mass}, top=(None, 6.0))
    if figure == 0:
        return own.but(rg=(rg - width, rg + width))
    return own.but(differential=(0.3 * differential, 1.7 * differential))


def at(random_line: Line, figure: int, value: float) -> Line:
    name = ("rg", "differential")[figure]
    return random_line.but(**{name: (value, value)})


def oracle(
    random_line: Line, figure: int, value: float
) -> tuple[float, frozenset[tuple[str, int]]]:
    """The line's smallest margin at a value about the centre, and what holds it; −∞ for none.

    Each weight is a linear program for the pin axis low, and one for it high.
    """
    fixed, levels = at(random_line, figure, value), []
    for label in random_line.weights:
        ways = [program(fixed, label, pin=pin).best() for pin in ("low", "high")]
        if not any(ways):
            return -np.inf, frozenset()
        level, holding = max(way for way in ways if way is not None)
        levels.append((level, frozenset((label, k) for k in holding)))
    return min(levels, key=itemgetter(0))


def numbered(random_line: Line, limits: Limits) -> frozenset[tuple[str, int]]:
    """Limits by the numbers that the oracle's margins have: two a part, then top weight's signs."""
    numbers = set()
    for claim in limits:
        assert claim.weight is not None
        if claim.words == "top weight max":
            numbers.add((claim.weight, -1))
        else:
            k = random_line.names.index(str(claim.of))
            numbers.add((claim.weight, 2 * k + (claim.words == "density max")))
    return frozenset(numbers)


def without_sign(
    random_line: Line, holding: frozenset[tuple[str, int]]
) -> frozenset[tuple[str, int]]:
    """Top weight is one limit, whichever way the CG lies."""
    return frozenset((who, -1 if k >= 2 * len(random_line.names) else k) for who, k in holding)


@pytest.mark.turns(5)
@pytest.mark.parametrize(("seed", "figure"), [(5, 0), (6, 0), (7, 0), (2, 1), (9, 1)])
def test_every_value_is_the_linear_programs_optimum(seed: int, figure: int) -> None:
    """About the centre, parts on the pin axis, figures fixed: exact, by another solver.

    On lines 6 and 7 a neighbour's answer leads to a lower peak, which a fresh start finds out.
    """
    random_line = line(seed, figure=figure)
    curve = trade(read(random_line.text()), TARGETED[figure])
    assert curve.astray == (seed in {6, 7})
    assert len(curve.spots) > 20
    for spot in curve.spots:
        level, _ = oracle(random_line, figure, spot.value)
        assert spot.level == pytest.approx(level, abs=1e-6)


@pytest.mark.turns(4)
@pytest.mark.parametrize(("seed", "figure"), [(5, 0), (10, 0), (8, 1), (9, 1)])
def test_kinks_are_where_the_oracles_limits_change(seed: int, figure: int) -> None:
    """A dense scan of what holds the oracle's optimum: every change that bends is told, no other.

    On both sides of a told kink the oracle's limits are those told; between kinks they stay.
    """
    random_line = line(seed, figure=figure)
    curve = trade(read(random_line.text()), TARGETED[figure])
    low, high = curve.spots[0].value, curve.spots[-1].value
    values = np.linspace(low, high, 151)
    held = [without_sign(random_line, oracle(random_line, figure, v)[1]) for v in values]
    changes = [
        (values[k], values[k + 1], held[k], held[k + 1])
        for k in range(len(values) - 1)
        if held[k] != held[k + 1]
    ]
    assert len(curve.kinks) == len(changes) > 0
    for kink, (a, b, before, after) in zip(curve.kinks, changes, strict=True):
        assert a - FINEST <= kink.spot.value <= b + FINEST
        assert numbered(random_line, kink.enters) == after - before
        assert numbered(random_line, kink.leaves) == before - after


@pytest.mark.turns(2)
@pytest.mark.parametrize("seed", [11, 12])
def test_about_the_cg_it_is_the_best_over_all_heights_of_the_cg(seed: int) -> None:
    """With the CG's height given it is a linear program; the best height is sought from ten places.

    The engine may find no less: where it found more, the ten places were too few.
    """
    random_line = line(seed, "cg", width=0.05)
    random_line = random_line.but(weights={"15": random_line.weights["15"]})
    curve = trade(read(random_line.text()), LOW_RG)
    for spot in curve.spots[::6]:
        fixed = at(random_line, 0, spot.value)

        def loss(c: float, fixed: Line = fixed) -> float:
            best = program(fixed, "15", c=c).best()
            return 1e3 if best is None else -best[0]

        ends = np.linspace(-0.25, 0.25, 11)
        tries = [
            minimize_scalar(loss, bounds=(a, b), method="bounded", options={"xatol": 1e-7})
            for a, b in pairwise(ends)
        ]
        assert spot.level == pytest.approx(-min(attempt.fun for attempt in tries), abs=1e-4)


def test_every_value_is_what_solve_finds_with_that_value_in_the_file(
    alder: str, curve: Trade
) -> None:
    """About the CG, and the whole way: text, search, statement, measurement."""
    for spot in curve.spots[::5]:
        result = solved(alder.replace(FREE, repr(spot.value / INCH)))
        assert (result.status == "feasible") == spot.feasible
        if spot.feasible:
            assert spot.tolerances == pytest.approx(Point({}, result).level, abs=STATED)


def test_the_best_is_what_solve_chooses(alder: str, curve: Trade) -> None:
    chosen = solved(alder)
    assert curve.best is not None
    assert curve.best.value == pytest.approx(chosen.figures[0], abs=FINEST)
    assert curve.best.tolerances == pytest.approx(Point({}, chosen).level, abs=STATED)
    assert curve.best.level == max(spot.level for spot in curve.spots)


def test_at_a_kink_the_best_is_held_from_both_sides(curve: Trade) -> None:
    """Below the best the curve rises, above it falls: each side's limits hold it."""
    (kink,) = (kink for kink in curve.kinks if kink.spot is curve.best)
    assert kink.enters
    assert kink.leaves
    assert kink.enters | kink.leaves <= curve.holding


def test_the_example_has_kinks_and_ends(curve: Trade) -> None:
    """What it is there to show; where they lie is checked above, by other means."""
    assert len(curve.kinks) >= 3
    ((first, last),) = curve.ranges
    assert curve.spots[0].value < first.value < curve.kinks[0].spot.value
    assert curve.kinks[-1].spot.value < last.value < curve.spots[-1].value
    assert not curve.astray
    assert 0.0 < curve.error <= ERROR


def test_an_end_is_located_from_inside(curve: Trade) -> None:
    """The next spot beyond an end is not feasible, and within the finest step."""
    ((first, last),) = curve.ranges
    spots = curve.spots
    before, after = spots[spots.index(first) - 1], spots[spots.index(last) + 1]
    for inner, outer in ((first, before), (last, after)):
        assert inner.feasible
        assert not outer.feasible
        assert abs(inner.value - outer.value) <= FINEST


def test_told_margins_are_those_of_the_balls_as_stated(curve: Trade) -> None:
    """Each ball weighs and turns as asked, by its stated densities; the least margin is told."""
    for spot in curve.spots:
        assert [weight.label for weight in spot.weights] == ["16", "15", "14"]
        for weight in spot.weights:
            ball = weight.ball
            assert np.allclose(ball.densities, np.round(ball.densities, 4), atol=1e-12)
            assert ball.radii.low == pytest.approx(spot.value, abs=5e-4)
            assert ball.radii.differential == pytest.approx(0.034 * INCH, abs=5e-4)
        assert spot.tolerances == pytest.approx(spot.level, abs=STATED)


def test_a_line_that_does_not_measure_up_is_a_fault(curve: Trade) -> None:
    along = HeldFigure(curve.scenario, LOW_RG)
    assert curve.best is not None
    sample = along.afresh(curve.best.value)
    groups = tuple(replace(best, level=best.level + 0.1) for best in sample.groups if best)
    with pytest.raises(SolverError, match="as stated"):
        along.stated(Sample(sample.value, groups))


def test_the_slope_is_the_curves(curve: Trade) -> None:
    """From the duals, against two values a little apart."""
    held = HeldFigure(curve.scenario, LOW_RG)
    for value in (2.52 * INCH, 2.535 * INCH, 2.57 * INCH):
        sample, beyond = held.afresh(value), held.afresh(value + 1e-4)
        assert sample.least is not None
        assert (beyond.level - sample.level) / 1e-4 == pytest.approx(sample.least.slope, rel=1e-3)


def test_nothing_feasible_is_told_as_solve_tells_it(alder: str) -> None:
    curve = trade(read(alder.replace(FREE, "{ min = 2.570, max = 2.580 }")), LOW_RG)
    assert curve.status == "infeasible"
    assert curve.ranges == ()
    assert curve.verdict is not None
    assert all(spot.level < 0.0 for spot in curve.spots)
    assert curve.best is curve.spots[0]


def test_feasible_everywhere_has_no_ends_inside(alder: str) -> None:
    curve = trade(read(alder.replace(FREE, "{ min = 2.530, max = 2.560 }")), LOW_RG)
    assert curve.ranges == ((curve.spots[0], curve.spots[-1]),)
    assert curve.status == "feasible"
    assert curve.verdict is None


@pytest.mark.slow
def test_where_no_ball_can_meet_the_target_there_is_a_gap(alder: str) -> None:
    """All of the mass in the cover: RG² = 3/5 (R⁵ − r⁵)/(R³ − r³), 3.25 in; no solid has more."""
    R, r = 8.58 / 2, 7.36 / 2
    most = np.sqrt(0.4 * (R**5 - r**5) / (R**3 - r**3))
    curve = trade(read(alder.replace(FREE, "{ min = 2.500, max = 3.500 }")), LOW_RG)
    ((first, last),) = curve.gaps
    assert last is curve.spots[-1]
    assert first.value / INCH < most
    assert first.tolerances is None
    assert curve.status == "feasible"
    assert all(spot.found for spot in curve.spots if spot.value < first.value)


def test_another_free_figure_is_chosen_anew_for_each_value(alder: str, curve: Trade) -> None:
    """So the curve is nowhere lower, and is what solve finds with the one figure fixed."""
    text = alder.replace("differential = 0.034", "differential = { min = 0.03, max = 0.036 }")
    freer = trade(read(text), LOW_RG)
    assert len(HeldFigure(freer.scenario, LOW_RG).lineups) == 1
    levels = np.interp(
        [spot.value for spot in curve.spots],
        [spot.value for spot in freer.spots],
        [spot.level for spot in freer.spots],
    )
    assert np.all(levels >= [spot.level - ERROR for spot in curve.spots])
    middle = [spot for spot in freer.spots if spot.feasible][::9]
    assert len(middle) >= 3
    for spot in middle:
        result = solved(text.replace(FREE, repr(spot.value / INCH)))
        assert spot.tolerances == pytest.approx(Point({}, result).level, abs=STATED)
        assert spot.figures[1] == pytest.approx(result.figures[1], abs=0.02)


def test_one_density_for_all_is_named_once_and_costs_margin(alder: str, curve: Trade) -> None:
    text = alder.replace(
        'material = "shell"\n', 'material = "shell"\nsame_density = "all"\n'
    )  # the cover's
    tied = trade(read(text), LOW_RG)
    assert tied.best is not None
    assert curve.best is not None
    assert tied.best.level < curve.best.level
    covers = {c.weight for spot in tied.spots for c in spot.limits if c.of == "cover"}
    assert covers == {None}


def test_an_intermediate_differential_has_its_curve() -> None:
    text = shipped("yew")
    text = text.replace(
        "intermediate_differential = 0.011 ", "intermediate_differential = {min=0.009, max=0.013} "
    )
    curve = trade(read(text), INTERMEDIATE_DIFFERENTIAL)
    chosen = solved(text)
    assert curve.best is not None
    assert curve.best.tolerances == pytest.approx(Point({}, chosen).level, abs=STATED)


def test_a_known_line_up_is_a_start(alder: str, curve: Trade) -> None:
    """What solve found from a random start is not lost to the curve."""
    chosen = solved(alder)
    with_it = HeldFigure(curve.scenario, LOW_RG, chosen).afresh(chosen.figures[0])
    assert with_it.level == pytest.approx(curve.best.level if curve.best else None, abs=1e-3)


def test_what_only_solve_finds_becomes_the_curve(
    alder: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the curve's own starts find nothing at all, and the line-up of solve does."""
    found_by_solve = HeldFigure.afresh

    def blind(self: HeldFigure, value: float) -> Sample:
        if self.known is None:
            return Sample(value, (None,) * len(self.lineups))
        return found_by_solve(self, value)

    monkeypatch.setattr(HeldFigure, "afresh", blind)
    monkeypatch.setattr(
        HeldFigure, "_afresh", lambda self, k, value: None if self.known is None else self._climbed(
            k, value, [(self.lineups[k].point_of(self.known), None)]
        )
    )  # fmt: skip
    curve = trade(read(alder), LOW_RG)
    assert curve.status == "feasible"
    assert curve.best is not None
    assert curve.best.value == pytest.approx(solved(alder).figures[0], abs=FINEST)


@pytest.mark.slow
def test_neighbours_that_lead_astray_are_found_out(
    alder: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A warm answer that is worse than a fresh one at a check: then every value is begun anew."""
    warm = HeldFigure.at

    def worse(self: HeldFigure, value: float, near: list[Sample]) -> Sample:
        sample = warm(self, value, near)
        if len(near) == 1 and near[0].value < value:
            groups = tuple(replace(g, level=g.level - 1.0) for g in sample.groups if g)
            return Sample(value, groups)
        return sample

    monkeypatch.setattr(HeldFigure, "at", worse)
    curve = trade(read(alder), LOW_RG)
    assert curve.astray
    monkeypatch.undo()
    true = answers.curve("alder", LOW_RG)
    assert curve.best is not None
    assert true.best is not None
    assert curve.best.level == pytest.approx(true.best.level, abs=1e-3)


@pytest.mark.parametrize(
    ("rg", "figure", "message"),
    [
        ("2.540", 0, r"line.toml:14:1: rg is one value, not a range \(2.54\); write target.rg ="),
        (FREE, 1, r"line.toml:15:1: differential is one value, not a range \(0.034\)"),
        (FREE, 2, r"line.toml:13:1: intermediate_differential is not asked for"),
    ],
)
def test_a_figure_that_is_not_free_is_refused(
    alder: str, rg: str, figure: int, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        trade(read(alder.replace(FREE, rg)), TARGETED[figure])


def test_without_tolerances_there_is_no_margin_to_draw(alder: str) -> None:
    text = re.sub(r"(?m)^tolerance = .*$|, tolerance = 0.25", "", alder)
    text = re.sub(r"rulebook.*", "", text)
    with pytest.raises(InputError, match="no limit that a density moves has a tolerance"):
        trade(read(text), LOW_RG)


def test_a_wall_under_its_limit_is_infeasible_all_along(alder: str) -> None:
    curve = trade(
        read(alder.replace("wall       = { min = 0.20", "wall       = { min = 0.40")), LOW_RG
    )
    assert curve.status == "infeasible"
    assert {m.words for m in curve.broken} == {"wall min"}
    assert curve.ranges != ()


def test_a_target_in_the_middle_of_a_span_keeps_the_others(curve: Trade) -> None:
    """Only the figure that is drawn moves."""
    spots: tuple[Spot, ...] = curve.spots
    assert {round(spot.figures[1], 9) for spot in spots} == {round(0.034 * INCH, 9)}
    target = curve.scenario.target
    assert target[LOW_RG] == Span(spots[0].value, spots[-1].value, target[LOW_RG].tolerance)
