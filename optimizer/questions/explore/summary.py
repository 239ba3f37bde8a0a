"""What a table of candidates comes to, read row by row: nothing of it is held but the best."""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from math import ceil

from optimizer.questions.explore.row import CandidateRow

BEST = 5
"""Candidates that are told one by one."""
TENTH = 500
"""Candidates that the best tenth has at the most."""
DOTS = 2000
"""Candidates that are drawn at the most."""

Rows = Callable[[], Iterator[CandidateRow]]
"""Reads the table from its beginning."""


@dataclass(frozen=True)
class Summary:
    """The candidates counted by status and reach, the `tenth` that ranks highest, and the first."""

    count: int
    statuses: Mapping[str, int]
    reaches: Mapping[str, int]
    measured: int
    tenth: Sequence[CandidateRow]
    as_drawn: CandidateRow | None

    @property
    def best(self) -> Sequence[CandidateRow]:
        """The few that are told one by one."""
        return self.tenth[:BEST]

    @property
    def feasible(self) -> int:
        """How many meet the target exactly and keep every limit."""
        return self.statuses.get("feasible", 0)

    @property
    def within(self) -> int:
        """How many keep every limit and meet the target within its tolerances."""
        return self.statuses.get("within_tolerance", 0)

    @property
    def step(self) -> int:
        """Every how many-th candidate is drawn."""
        return max(ceil(self.count / DOTS), 1)


def summary(rows: Rows) -> Summary:
    """Return what the rows come to."""
    statuses, reaches, measured = Counter[str](), Counter[str](), 0
    for row in rows():
        statuses[row.status] += 1
        reaches[row.reach] += 1
        measured += row.margin is not None
    few = min(max(ceil(measured / 10), min(BEST, measured)), TENTH)
    told = (row for row in rows() if row.margin is not None)
    tenth = heapq.nlargest(few, told, key=lambda row: row.rank)
    first = next(iter(rows()), None)
    return Summary(sum(statuses.values()), statuses, reaches, measured, tenth, first)


def drawn(rows: Rows, found: Summary) -> Iterator[CandidateRow]:
    """Yield the candidates that are drawn: all, or every so many-th of them."""
    return islice(rows(), 0, None, found.step)
