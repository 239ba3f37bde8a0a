"""How much work a diagnosis may do: counted, not timed, so that every machine gives one answer."""

from __future__ import annotations

from optimizer.lineup.engine.linear_solver import LinearSolver

EFFORT = 600_000
"""Rows of all linear programs, also those of changed scenarios. Five weights of five parts that
share a density take about half of it."""
EXPLAINING = 0.5
"""The share of it that conflicts may take; the rest is for changes that would do."""


def spent(solver: LinearSolver, share: float = 1.0) -> bool:
    """Whether a diagnosis has done `share` of its work; the rest is then reported as untried."""
    return solver.work >= share * EFFORT
