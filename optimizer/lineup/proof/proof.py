"""Proof that no line-up exists: boxes of line-ups are split until each is proven empty.

A box is empty if every point violates the rows of its outer relaxation by PROVEN or more in total.
The least total violation is a linear program, and the duals at its optimum are the proof: it stands
once `optimizer.certificate` has checked it, in exact arithmetic.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np

from optimizer.certificate.forms import NotProven
from optimizer.certificate.question import Ball, Question
from optimizer.certificate.tree import contradiction, leaves
from optimizer.lineup.engine.linear_solver import LinearSolver, Optimum, Rows
from optimizer.lineup.proof.affine import ProofRow
from optimizer.lineup.proof.boxes import LineupBox, Node, Open
from optimizer.lineup.proof.duality import asked_beyond, multipliers
from optimizer.lineup.proof.evidence import Evidence
from optimizer.lineup.proof.known import NONE
from optimizer.lineup.proof.relaxation import Outer
from optimizer.lineup.proof.splitting import Splits
from optimizer.lineup.proof.tilted import Tilted
from optimizer.lineup.proof.turning import TurningSplits
from optimizer.lineup.rows import Lineup
from shared import activity
from shared.arrays import Array
from shared.errors import SolverError

PROVEN = 1e-6
"""Total violation of the rows (cm², ratios of weight, tolerances) that rounding can't explain."""
BUDGET = 400
"""Boxes examined before the question is left undecided."""
FIRST = 16
"""Boxes examined before anything is searched within tolerance: where a target is far out of reach,
they are enough."""
EARLY = 100
"""Boxes examined before a search tries more than its first starts; most proofs take fewer."""
ROUNDS = 6
"""Programs for one box, each with rows that the last one's optimum breaks."""


@dataclass(frozen=True, eq=False)
class Verdict:
    """The `proof` that no line-up exists, if there is one, and how many boxes were looked at.

    `points` are densities that the relaxation allows, as starts for a search.
    """

    proof: Evidence | None
    boxes: int
    points: tuple[Array, ...]

    @property
    def proven(self) -> bool:
        """Whether it is proven."""
        return self.proof is not None


class Relaxation:
    """The question whether a line-up exists, asked of smaller and smaller boxes.

    Every limit with a tolerance is to have room of `level` tolerances; within tolerance, a target
    may be missed by a `share` of its own. Densities with `steps` are whole multiples of them, which
    only a split makes use of. `tree` is the proof, as the checker reads it: boxes are its nodes,
    the empty ones its leaves. `start` is the box of all line-ups. Boxes are looked at by the rows
    of some `classes`: of all, at first.
    """

    def __init__(
        self,
        lineup: Lineup,
        solver: LinearSolver,
        level: float = 0.0,
        share: float = 1.0,
        steps: Mapping[int, float] = NONE,
    ) -> None:
        self.lineup, self.solver, self.level = lineup, solver, level
        self.outer: Outer
        self.splits: Splits
        if all(linear_map.aligned for linear_map in lineup.maps):
            self.outer = Outer(lineup, level, share, steps)
            self.splits = Splits(self.outer, solver, self._broken)
        else:
            self.outer = tilted = Tilted(lineup, level, share, steps)
            self.splits = TurningSplits(tilted, solver, self._broken)
        self.tree, self.classes = Node(), range(len(lineup.maps))
        self._again: dict[int, Callable[[], object]] = {}
        self.start = self.splits.start(self.tree)
        self._boxes, self._looked, self._points = [self.start], 0, list[Array]()

    def verdict(self, budget: int = BUDGET) -> Verdict:
        """Return whether the line-up is proven impossible within the budget of boxes.

        Asked again, it goes on where it stopped.
        """
        labels = ", ".join(self.lineup.labels)
        self._looked += self.emptied(self._boxes, budget - self._looked, f"{labels}: proving")
        proven = not self._boxes and self.holds
        return Verdict(self.evidence if proven else None, self._looked, tuple(self._points[-3:]))

    def emptied(
        self,
        boxes: list[Open],
        budget: int,
        what: str,
        least: float = PROVEN,
    ) -> int:
        """Look at boxes until all are proven empty, and taken out; return at how many, at most.

        A box is empty whose rows every point breaks by more than `least`. It ends early at one that
        can't be split.
        """
        for looked in range(budget):
            if not boxes:
                return looked
            box, node = boxes.pop()
            activity.at(f"{what}, box {looked + 1} of at most {budget}")
            if box.void:
                node[:] = ["void"]
                continue
            try:
                broken, optimum = self._cut_off(box, node)
            except SolverError:  # then nothing is known of this box
                boxes.append((box, node))
                return looked + 1
            if broken > least:
                continue
            self._points.append(optimum.x[: self.outer.n])
            parts = self.split(box, node, optimum.x)
            boxes += parts or [(box, node)]
            if not parts:
                return looked + 1
        return max(budget, 0)

    @property
    def evidence(self) -> Evidence:
        """The proof as it stands."""
        return Evidence.none(self.outer, self.level, self.tree)

    @cached_property
    def holds(self) -> bool:
        """Whether the checker finds that the tree proves that there is no line-up.

        What it doesn't find proven is solved once more, without what the solver remembers.
        """
        question = self.question
        try:
            for there, node in leaves(question, self.tree):
                if node[0] == "rows" and contradiction(question, there, node) <= 0:
                    self.solver.forget()
                    self._again[id(node)]()
                    if contradiction(question, there, node) <= 0:
                        return False
        except NotProven:
            return False
        return True

    @property
    def question(self) -> Question:
        """What is asked, as the checker has it."""
        asked = self.evidence
        balls = {label: Ball.read(ball) for label, ball in asked.balls.items()}
        return Question.read(asked.question, balls)

    def _broken(
        self, box: LineupBox, node: Node, rows: Iterable[ProofRow]
    ) -> tuple[float, Optimum]:
        """Return how much every point of a box breaks its rows at least, and one that does so."""
        every, bounds = list(rows), self.outer.bounds(box)
        stacked = Rows.of(every)
        optimum = self.solver.best(stacked, *bounds)
        y = multipliers(stacked, np.clip(optimum.duals, -1.0, 1.0))
        self._leaf(node, every, y, partial(self._broken, box, node, every))
        return asked_beyond(stacked, y, *bounds), optimum

    def _cut_off(self, box: LineupBox, node: Node) -> tuple[float, Optimum]:
        """Return the same for all rows, and for more that the point breaks, while there are any."""
        for _ in range(ROUNDS):
            broken, optimum = self._broken(box, node, self.outer.rows(box, self.classes))
            if broken > PROVEN or not self.outer.cut(optimum.x):
                break
        return broken, optimum

    def _leaf(
        self, node: Node, rows: Sequence[ProofRow], y: Array, again: Callable[[], object]
    ) -> None:
        """Make a node a leaf with these multipliers; `again` solves its program once more."""
        used = [(rows[i], float(y[i])) for i in np.flatnonzero(y).tolist()]
        node[:] = ["rows", *([*row.kind, multiplier * row.scale] for row, multiplier in used)]
        self._again[id(node)] = again

    def split(self, box: LineupBox, node: Node, x: Array) -> list[Open]:
        """Return smaller boxes that cover `box`, by what is off at `x`, or none."""
        return self.splits.split(box, node, x)
