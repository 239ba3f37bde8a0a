"""Proof that no line-up on the steps is nearer to the targets than one that was found.

It is the proof that there is no line-up within tolerance, asked of other tolerances, and of
densities in whole steps. First the densities are split that weights share. Once these are given,
one weight that can't be that near is enough.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.weight_class import Ball, LinearMap
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.margins import deviations
from optimizer.lineup.proof.boxes import LineupBox, Node, Open, fallen
from optimizer.lineup.proof.evidence import Evidence
from optimizer.lineup.proof.proof import Relaxation
from optimizer.lineup.rows import Lineup
from optimizer.questions.schedule.steps.counting import Counts, allowed, whole_steps
from shared.arrays import Array

BUDGET = 3000
"""Boxes looked at before the question is left open."""
TRIAL = 100
"""Boxes looked at for one weight before the next one is tried."""
LEAST = 1e-9
"""Violation of rows (cm², ratios of weight, tolerances) that the checker will find, and how far p
may be from what it stands for."""
WHOLE = 1e-6
"""Steps: a count this close to a whole one is split last."""


def _nearby(counts: Counts, reach: int) -> Lineup:
    """Return the line-ups within `reach` counts that hold every target within tolerance.

    Limits are eased by no less than candidates may break them.
    """
    lineup, figures = counts.lineup, counts.lineup.columns.target(counts.x)
    lower, upper = (counts.columns(ends) for ends in counts.box(reach))
    by = 2.0 * counts.rounding
    columns = replace(lineup.columns, lower=lower - by, upper=upper + by)
    maps = tuple(_asked(ball, figures) for ball in lineup.balls(counts.x))
    return Lineup(maps, columns, lineup.sharing, within=True)


class Nearer(Relaxation):
    """The question whether a line-up on the steps near one holds targets within `off` tolerances.

    It lies within `reach` counts of the one that `counts` has, and keeps every limit.
    """

    def __init__(self, counts: Counts, reach: int, off: float, solver: LinearSolver) -> None:
        super().__init__(_nearby(counts, reach), solver, share=off, steps=counts.steps)
        columns, self.effect = counts.lineup.columns, np.zeros(len(counts.x))
        every = np.concatenate([np.unique(places) for places in columns.poured])
        self.shared = [j for j in counts.steps if np.count_nonzero(every == j) > 1]
        for k, ball in enumerate(counts.lineup.balls(counts.x)):
            away = deviations(ball, columns.target(counts.x))
            slopes = [d.gradient / (d.tolerance or np.inf) for d in away]
            most = np.max(np.abs(columns.scatter(k, np.array(slopes))), axis=0)
            self.effect = np.maximum(self.effect, most * counts.size)

    def some(self, x: Array) -> Evidence:
        """Return the evidence that there are some: the densities among the columns `x`."""
        return Evidence.some("", self.outer, x)

    def none(self, budget: int = BUDGET) -> Evidence | None:
        """Return the proof that there are none, if it is found within the budget of boxes.

        It is only sought where all parts stand on the pin axis.
        """
        if not self.outer.aligned:
            return None
        every, boxes, left = self.classes, [self.start], budget
        while boxes and left > 0:
            self.classes = every
            left -= self.emptied(boxes, left, self._what, LEAST)
            if boxes and left > 0:
                left = self._alone(boxes.pop(), every, left)
        return self.evidence if left > 0 and self.holds else None

    @property
    def _what(self) -> str:
        return f"{', '.join(self.lineup.labels)}: proving the best on the steps"

    def _alone(self, there: Open, every: range, left: int) -> int:
        """Show that one of these weights isn't in a box; return what is left of the budget.

        It is 0 where that isn't shown.
        """
        for most in (TRIAL, left):
            for k in every:
                boxes, self.classes = [there], range(k, k + 1)
                left -= self.emptied(boxes, min(most, left), self._what, LEAST)
                if not boxes:
                    return left
        return 0

    def split(self, box: LineupBox, node: Node, x: Array) -> list[Open]:
        """Return smaller boxes that cover `box`, or none if there is nothing to split.

        Of several weights only shared densities are split. That is first which is farthest, at `x`,
        from a whole step, weighted by its effect on the targets; then the range of the CG.
        """
        steps, sought = self.outer.steps, self.shared
        if len(self.classes) == 1:
            if parts := self.splits.ordered(box, node, self.classes):
                return parts
            own = set(self.lineup.columns.poured[self.classes[0]].tolist())
            sought = [j for j in steps if j in own]
        counts = {
            j: float(x[j]) / steps[j]
            for j in sought
            if box.densities[j][1] - box.densities[j][0] > WHOLE * steps[j]
        }
        far = {j: abs(count - round(count)) for j, count in counts.items()}
        if max(far.values(), default=0.0) > WHOLE:
            j = max(far, key=lambda j: far[j] * float(self.effect[j]))
            return self._stepped(box, node, j, int(np.floor(counts[j])))
        if len(self.classes) == 1 and self._gap(k := self.classes[0], x) > LEAST:
            middle = sum(box.c[k]) / 2
            return self.splits.cut(box, node, k, middle, middle)
        for j, count in counts.items():
            high = box.densities[j][1] / steps[j]
            return self._stepped(box, node, j, round(count) - (high < round(count) + WHOLE))
        return []

    def _gap(self, k: int, x: Array) -> float:
        """Return how far p of class `k`, over its mass, is from c², cm²."""
        if self.lineup.maps[k].about != "cg":
            return 0.0
        mass, first = (row.row @ x for row in (self.outer.mass[k], self.outer.first(k)))
        return abs(float(x[self.outer.n + k] / mass - (first / mass) ** 2))

    def _stepped(self, box: LineupBox, node: Node, j: int, count: int) -> list[Open]:
        """Return the line-ups with density `j` at most so many steps, and at least one more."""
        below, above = (whole_steps(self.outer.steps[j], n) for n in (count, count + 1))
        return fallen(node, ["density", j, below, above], box.stepped(j, below, above))


def _asked(ball: Ball, figures: Array) -> LinearMap:
    """Return a weight class with its limits eased, and these figures as its target.

    A target without a tolerance isn't asked for: what is missed of it doesn't count.
    """
    at = zip(ball.map.target.items(), figures.tolist(), strict=True)
    target = {figure: span.at(value) for (figure, span), value in at if span.tolerance is not None}
    return replace(
        ball.map, target=target, bounds=tuple(_eased(bound, ball) for bound in ball.map.bounds)
    )


def _eased(bound: Bound, ball: Ball) -> Bound:
    """Return a limit eased by twice what stating densities may break: slopes change a little."""
    if bound.side == "both":
        return bound
    by = (allowed(margin, ball) for margin in bound.margins(ball))
    return bound.moved(-2.0 * bound.way * max(by, default=0.0))
