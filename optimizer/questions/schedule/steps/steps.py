"""The best line-up on the shop's steps of density, near the one that was found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import floor
from operator import attrgetter

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.columns import coupled
from optimizer.lineup.margins import Deviation
from optimizer.lineup.result import Infeasible, LineupResult, WeightResult
from optimizer.lineup.rows import Lineup
from optimizer.questions.schedule.steps.counting import Candidate, Counts, broken
from optimizer.questions.schedule.steps.group import HELD, SAME, Group
from optimizer.questions.schedule.steps.whole import WholeProgram
from shared.arrays import Array

REACHES = (3, 8)
"""Counts to either side of the line-up; the second if nothing is found within the first."""
PASSES = 16
"""Programs with the same rows, at most."""
ANEW = 4
"""How often rows are made, at most."""
DOUBT = 2.0
"""What rows are likely to be wrong by: a factor on the largest error seen."""
RANK = attrgetter("rank")
"""Sort key of candidates."""


@dataclass(frozen=True, eq=False)
class OnSteps:
    """A line-up on the shop's steps, measured exactly, and the outcome for each group.

    The `lineup` keeps its status where every limit is kept and every target held; otherwise it is
    "undecided": finer steps, or steps further off, might do.
    """

    lineup: LineupResult
    groups: tuple[Group, ...]

    @property
    def missed(self) -> tuple[tuple[str, Deviation], ...]:
        """The targets that are missed by more than their tolerance, each with its weight."""
        return tuple(
            (weight.label, off)
            for weight in self.lineup.weights
            for off in weight.deviations
            if abs(off.tolerances or 0.0) > HELD
        )

    @property
    def broken(self) -> tuple[Margin, ...]:
        """The limits that the steps break."""
        return tuple(margin for weight in self.lineup.weights for margin in broken(weight))

    @property
    def held(self) -> bool:
        """Whether every limit is kept and every target within its tolerance."""
        return not self.missed and not self.broken


def on_steps(result: LineupResult) -> OnSteps:
    """Return the best line-up near `result` whose densities are whole steps, where steps are given.

    First, every limit is kept; then the largest deviation from the targets, in their tolerances, is
    the smallest; then the nearest to `result` wins. A density without a step is stated as usual, a
    given one stays. Where weights share a density, each is made the best at the shared ones.

    Raises ValueError where `result` is no line-up.
    """
    if not result.accepted:
        raise ValueError(f"a line-up that is {result.status} has no densities to put on steps")
    weights = {weight.label: weight for weight in result.weights}
    groups: list[Group] = []
    for lineup in _groups(result):
        counts = Counts(lineup, result.scenario, _columns(lineup, result))
        if not counts.whole.any():
            continue
        groups.append(_best(counts))
        weights |= {weight.label: weight for weight in groups[-1].weights}
    stepped = [
        weights[weight.label].roomed() if weight.within else weights[weight.label]
        for weight in result.weights
    ]
    line = replace(result, weights=tuple(stepped))
    outcome = OnSteps(line, tuple(groups))
    if outcome.held:
        return outcome
    why = Infeasible(_words(outcome), broken=(), stops=outcome.broken)
    return replace(outcome, lineup=replace(line, status="undecided", infeasible=why))


def _groups(result: LineupResult) -> Iterator[Lineup]:
    """Yield the groups of weights that share a density, with the target's figures given."""
    maps, scenario = [weight.ball.map for weight in result.weights], result.scenario
    settled = [_settled(linear_map, result.figures) for linear_map in maps]
    for members in coupled(settled, scenario.sharing):
        yield Lineup.of([maps[k] for k in members], scenario.sharing)


def _settled(linear_map: LinearMap, figures: tuple[float, ...]) -> LinearMap:
    """Return the map with the target's figures given, so that they couple no weights."""
    pairs = zip(linear_map.target.items(), figures, strict=True)
    return replace(linear_map, target={of: span.at(value) for (of, span), value in pairs})


def _columns(lineup: Lineup, result: LineupResult) -> Array:
    """Return the columns (c,) of the line-up as found."""
    densities = {weight.label: weight.ball.densities for weight in result.weights}
    return lineup.columns.filled([densities[label] for label in lineup.labels], result.figures)


def _best(counts: Counts) -> Group:
    """Return the outcome for one group, within the first reach where every target is held."""
    candidate = counts.nearest()
    for reach in REACHES:
        candidate = _sought(counts, reach, candidate)
        if candidate.kept and candidate.off <= HELD:
            break
    return Group(counts, reach, _each_alone(counts, candidate, reach))


def _sought(counts: Counts, reach: int, known: Candidate) -> Candidate:
    """Return the best of the `known` candidate and those that the programs find.

    Rows are made at the line-up, then again at the best, until the best stays the same.
    """
    tried, at = [known], counts.candidate(counts.x)
    for _ in range(ANEW):
        _try(WholeProgram(counts, at, reach), tried)
        best = max(tried, key=RANK)
        if best is at:
            break
        at = best
    return best


def _try(program: WholeProgram, tried: list[Candidate]) -> None:
    """Try the program's answers one after the other.

    It ends when the program's bound on the others, less what its rows are likely to be wrong by, is
    no better than the best tried. Steps tried are cut off; where some densities have no step, only
    those that the program itself has chosen.
    """
    counts = program.counts
    cut = list(tried) if counts.all_whole else []
    for _ in range(PASSES):
        best, wrong = max(tried, key=RANK), DOUBT * program.seen(tried)
        answer = program.best(cut, best.off + wrong if best.kept else np.inf)
        if answer.x is None or (best.kept and answer.least - wrong >= best.off):
            break
        if any(np.array_equal(answer.x, candidate.x) for candidate in cut):
            break
        cut.append(counts.candidate(answer.x))
        tried.append(cut[-1])


def _each_alone(counts: Counts, candidate: Candidate, reach: int) -> tuple[WeightResult, ...]:
    """Return the weights, each the best at the densities that it shares."""
    if len(candidate.weights) == 1:
        return candidate.weights
    group, weights = counts.lineup, list[WeightResult]()
    many = Counter(j for poured in group.columns.poured for j in set(poured.tolist()))
    for k, linear_map in enumerate(group.maps):
        lineup = Lineup.of([linear_map], counts.scenario.sharing)
        place = np.zeros(lineup.columns.count, dtype=np.intp)
        place[lineup.columns.poured[0]] = group.columns.poured[k]
        place[lineup.columns.figures :] = np.arange(group.columns.figures, group.columns.count)
        shared = frozenset(j for j, i in enumerate(place.tolist()) if many[i] > 1)
        x = np.where([j in shared for j in range(len(place))], candidate.x[place], counts.x[place])
        alone = Counts(lineup, counts.scenario, x, shared)
        best = alone.candidate(candidate.x[place])
        if alone.pours:
            best = _sought(alone, reach, best)
        weights += best.weights
    return tuple(weights)


def _down(off: float) -> float:
    """Return a bound rounded to two decimals, never up."""
    return floor(100.0 * off) / 100.0


def _words(outcome: OnSteps) -> str:
    """Return in words what was sought, and what was missed."""
    sentences = []
    for group in outcome.groups:
        missed = [
            f"{label} misses its {off.figure.words} by {abs(off.tolerances or 0.0):.2f} tolerances"
            for label, off in outcome.missed
            if label in group.labels
        ]
        missed += [
            f"{margin.weight} breaks its limit {margin.bound.name}"
            for margin in outcome.broken
            if margin.weight in group.labels
        ]
        if missed:
            where = f"within {group.reach} steps of the line-up"
            known = ""
            if group.off > HELD and group.none_nearer:
                known = (
                    f"; proven that none there misses by less than {_down(group.off - SAME):.2f}"
                )
            elif group.none_held:
                known = "; proven that there are none"
            sentences.append(
                f"no densities on the steps were found {where} that keep every limit and hold "
                f"every target within its tolerance: at the best found, {', '.join(missed)}{known}"
            )
    return "; ".join(sentences)
