"""How much a diagnosis may try: counted, not timed, so that it ends alike on every machine."""

from __future__ import annotations

from optimizer.lineup.engine.linear_solver import LinearSolver

EFFORT = 600_000
"""Rows of all linear programs, those of changed scenarios solved again among them. Five weights of
five parts that share a density take about half of it."""
EXPLAINING = 0.5
"""Share of it that may go into what can't hold together; the rest is for what would do."""


def spent(solver: LinearSolver, share: float = 1.0) -> bool:
    """Whether a diagnosis has done `share` of what it may, and says what it leaves untried."""
    return solver.work >= share * EFFORT
