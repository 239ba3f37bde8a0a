"""The outcome on the steps for weights that share a density, and what is proven of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.proof.evidence import Evidence
from optimizer.lineup.result import WeightResult
from optimizer.questions.schedule.steps.counting import Counts, broken, largest
from optimizer.questions.schedule.steps.nearer import Nearer

SAME = 1e-4
"""Tolerances: a line-up that is nearer to the targets by no more is as near."""
HELD = 1.0
"""Tolerances: a target missed by no more is held."""


@dataclass(frozen=True, eq=False)
class Group:
    """The outcome for weights that share a density: those found best within `reach` counts."""

    counts: Counts
    reach: int
    weights: tuple[WeightResult, ...]

    @property
    def labels(self) -> tuple[str, ...]:
        """The labels of the weights."""
        return self.counts.lineup.labels

    @property
    def off(self) -> float:
        """The largest deviation from the targets, in tolerances."""
        return max(map(largest, self.weights))

    @property
    def kept(self) -> bool:
        """Whether every limit is kept."""
        return not any(map(broken, self.weights))

    @property
    def held(self) -> bool:
        """Whether every limit is kept and every target within its tolerance."""
        return self.kept and self.off <= HELD

    @cached_property
    def none_nearer(self) -> Evidence | None:
        """The proof that nothing on the steps within reach keeps every limit and is off by less."""
        return self._none_within(self.off - SAME) if self.kept else None

    @cached_property
    def none_held(self) -> Evidence | None:
        """The proof that nothing there keeps every limit and holds every target."""
        return self._none_within(HELD)

    @cached_property
    def reached(self) -> Evidence:
        """The evidence that those found keep every limit and are off by no more than is told."""
        columns = self.counts.lineup.columns
        densities = [weight.ball.densities for weight in self.weights]
        x = columns.filled(densities, columns.target(self.counts.x))
        return self._within(self.off).some(x)

    def _none_within(self, off: float) -> Evidence | None:
        return self._within(off).none() if off > 0.0 else None

    def _within(self, off: float) -> Nearer:
        return Nearer(self.counts, self.reach, off, LinearSolver())
