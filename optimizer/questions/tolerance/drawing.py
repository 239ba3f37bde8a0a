"""The drawing with the most good balls: what `solve --for good-share` picks.

Under spread of the densities alone, their values hardly matter: at a given weight and RG, about the
centre, ∂RG/∂ρᵢ = (Iᵢ − RG² Vᵢ) ÷ (2 m RG) has no density in it. The drawing and the target's
figures do. The engine raises the smallest of the weights' shares, estimated on a fixed sample
to first order; what it picks is solved for margins as ever, and simulated.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.ball.weight_class import Ball
from optimizer.lineup.engine.climbing import Peak
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.group import solved
from optimizer.lineup.moulds.chosen import as_cut, with_chosen
from optimizer.lineup.moulds.starts import Starts
from optimizer.lineup.pipeline import as_result, solve_lineup
from optimizer.lineup.result import LineupResult, SearchInterruptedError
from optimizer.lineup.rows import Lineup
from optimizer.lineup.target_rows import SORTED
from optimizer.scatter.good import bands
from optimizer.scatter.inputs import Inputs, stated_inputs
from optimizer.scatter.line import Line
from optimizer.scatter.model import Model
from optimizer.scenario import Scenario, linear_maps
from optimizer.scenario.dimensions import Chosen
from optimizer.spread.simulation import Share
from shared import activity, stopping
from shared.arrays import Array
from shared.errors import SamespinError
from shared.units import INCH

PASSES = 40
"""The most linear programs of one climb."""
NUDGE = 1e-4
"""cm, g/cm³: the step of a difference."""
SAMPLE = 1 << 12
"""Balls by which a share is estimated."""
SOFT = 0.05
"""Of a tolerance: the width of its softened edge."""
UNIT = 0.01
"""Per cent: the unit of the share that is raised. With 1 the targets' curvature outweighs it."""
CRAWL = 1.0
"""Units: CRAWLING passes that gain less together end the climb."""
PERCENT = 100.0
DIGITS = 5
"""Decimals of an inch to which a free figure of the target is picked."""
GAIN = 0.001
"""Of the balls of the worst weight: less is nothing."""


@dataclass(frozen=True, eq=False)
class Picked:
    """The usual line-up, `before`, and the one with the most good balls, with their shares.

    `after` is None where nothing is gained, and `why` says why. Moulds on the rack stay those that
    are best for the margins.
    """

    before: LineupResult
    good_before: Mapping[str, Share]
    after: LineupResult | None = None
    good_after: Mapping[str, Share] | None = None
    why: str = ""

    @property
    def result(self) -> LineupResult:
        """The line-up that is picked."""
        return self.before if self.after is None else self.after


def most_good(
    asked: Scenario, how: Starts, *, exact: bool = False
) -> tuple[LineupResult, Picked | None]:
    """Return the line-up found whose worst weight has the most good balls, and how it was picked.

    Without a line-up, the usual result and None. Once the usual line-up is known, Ctrl-C raises a
    SearchInterruptedError that has it.
    """
    before = solve_lineup(asked, how, exact=exact)
    if not before.accepted:
        return before, None
    try:
        picked = _picked(asked, before)
    except KeyboardInterrupt:
        raise SearchInterruptedError(partial(_usual, before)) from None
    return picked.result, picked


def _usual(before: LineupResult) -> LineupResult:
    stopping.heard()
    return before


def _picked(asked: Scenario, before: LineupResult) -> Picked:
    each = stated_inputs(before.scenario)
    good = partial(_good, each=each)
    shares = good(before)
    free_figures = any(not span.fixed for span in asked.target.values())
    if not each:
        return Picked(before, shares, why="nothing varies: state a spread, or ± of materials")
    if not asked.free and not free_figures:
        why = (
            "no dimension and no figure of the target is free, and the densities' values hardly "
            "change what their spread does: a free dimension, { min, max }, could"
        )
        if any(input_.kind in ("position", "tilt", "centre") for input_ in each):
            why += "; densities nearer to each other make places matter less, which isn't sought"
        return Picked(before, shares, why=why)
    activity.at("the drawing with the most good balls")
    after = _climbed(asked, before)
    if after is None:
        return Picked(before, shares, why="the search found no other drawing that can be made")
    better = good(after)
    gain = min(s.value for s in better.values()) - min(s.value for s in shares.values())
    if gain < GAIN:
        why = "no drawing within the ranges was found with more: the usual one is as good"
        return Picked(before, shares, why=why)
    return Picked(before, shares, after, better)


def _good(result: LineupResult, each: Sequence[object]) -> Mapping[str, Share]:
    return Line.of(result, stated_inputs(result.scenario)).good()[0] if each else {}


def _climbed(asked: Scenario, before: LineupResult) -> LineupResult | None:
    """Return the line-up of the drawing that the engine climbs to from the usual one."""
    solver, chosen = LinearSolver(), dict[str, dict[str, float]]()
    racks = {rack.name: before.scenario.chosen[rack.name] for rack in asked.rack}
    asked = with_chosen(asked, racks) or asked
    figures: Array = np.array(before.figures)
    for lineup in Lineup.groups(linear_maps(asked), asked.sharing):
        peak = _peak(asked, lineup, _start(lineup, before), solver)
        if not peak.meets_targets:
            return None
        for k, linear_map in enumerate(lineup.maps):
            lengths = lineup.columns.dimensions(k, peak.x).tolist()
            for free, length in zip(linear_map.free, lengths, strict=True):
                by = chosen.setdefault(free.name, {})
                by[linear_map.label] = as_cut(asked, free, length)
        box = (ends[lineup.columns.figures :] for ends in lineup.columns.box)
        rounded = np.round(lineup.columns.target(peak.x) / INCH, DIGITS) * INCH
        figures = np.clip(rounded, *box)
    picked: Chosen = {**before.scenario.chosen, **chosen}
    scenario = with_chosen(replace(asked, chosen={}), picked)
    if scenario is None:
        return None
    return _for_margins(scenario, figures, solver)


def _for_margins(scenario: Scenario, figures: Array, solver: LinearSolver) -> LineupResult | None:
    """Return the best densities of a mould for these figures of the target."""
    solutions = []
    for lineup in Lineup.groups(linear_maps(scenario), scenario.sharing):
        of = lineup.columns
        free = (of.lower < of.upper) & (np.arange(of.count) >= of.figures)
        held = replace(lineup, columns=of.held(free, figures[free[of.figures :]]))
        solutions.append(solved(held, held.columns.middle, solver, exact=False, nearest=False))
    try:
        result = as_result(scenario, solutions, solver)
    except SamespinError:
        return None
    return result if result.accepted else None


def _start(lineup: Lineup, before: LineupResult) -> Array:
    """Return the columns of the usual line-up."""
    x, of = lineup.columns.middle.copy(), lineup.columns
    weights = {weight.label: weight for weight in before.weights}
    unit = before.scenario.reading.length
    for k, linear_map in enumerate(lineup.maps):
        named = before.scenario.named(linear_map.label)
        x[of.poured[k]] = weights[linear_map.label].ball.densities
        x[of.drawn[k]] = [named[free.name] * unit for free in linear_map.free]
    x[of.figures :] = before.figures
    return x


def _peak(asked: Scenario, lineup: Lineup, x: Array, solver: LinearSolver) -> Peak:
    """Return the peak of the smallest share."""
    # a dimension to pick has no nominal value for its own spread until it is picked
    each = [i for i in stated_inputs(asked) if i.kind != "dimension"]
    inputs = Inputs.of(asked, each)
    _, sample = next(inputs.sources.samples(1, SAMPLE))

    def shares(x: Array) -> list[float]:
        """Return each weight's share, estimated, in per cent."""
        return [
            _estimated(asked, inputs, sample, ball, lineup.columns.target(x))
            for ball in lineup.balls(x)
        ]

    def rows_at(x: Array) -> list[LinearRow]:
        balls = list(lineup.balls(x))
        rows = lineup.rows_of(balls, x, [SORTED] * len(balls), kept=True)
        here, slopes = shares(x), np.zeros((len(balls), len(x)))
        for j in np.flatnonzero(lineup.columns.lower < lineup.columns.upper).tolist():
            way = NUDGE if x[j] + NUDGE <= lineup.columns.upper[j] else -NUDGE
            there = x.copy()
            there[j] += way
            slopes[:, j] = (np.array(shares(there)) - here) / way
        for ball, share, slope in zip(balls, here, slopes, strict=True):
            lower = float(slope @ x) - share
            name = Name("good share", weight=ball.map.label)
            rows.append(LinearRow(name, slope, lower, np.inf, tolerance=UNIT))
        return rows

    return lineup.engine(solver, rows_at, passes=PASSES, crawl=CRAWL, second_order=True).climb(x)


def _estimated(asked: Scenario, inputs: Inputs, sample: Array, ball: Ball, figures: Array) -> float:
    """Return the share of good balls of one weight in a sample, per cent, to first order.

    The edges of the target's tolerances are softened, so that the share has a slope.
    """
    from scipy.special import ndtr  # noqa: PLC0415 - heavy

    label = ball.map.label
    model = Model(asked, ball, inputs.own[label], inputs.columns[label])
    good = np.ones(len(sample))
    for band in bands(ball.map, tuple(figures.tolist())):
        if band.rule is None:
            off = sample[:, list(model.columns)] @ model.slopes[band.figure]
            half = (band.high - band.low) / 2.0
            good *= ndtr((half - off) / (SOFT * half)) - ndtr((-half - off) / (SOFT * half))
    return PERCENT * float(good.mean())
