"""A summary of a table of candidates, read row by row: only the best are kept in memory."""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from math import ceil

from optimizer.questions.explore.row import CandidateRow

BEST = 5
"""Candidates that are listed."""
TENTH = 500
"""Candidates in the best tenth, at most."""
DOTS = 2000
"""Candidates drawn, at most."""

Rows = Callable[[], Iterator[CandidateRow]]
"""Reads the table from its beginning."""


@dataclass(frozen=True)
class Summary:
    """The candidates counted by status and reach, the `tenth` that ranks highest, and the first.

    `measured` counts those that have a margin.
    """

    count: int
    statuses: Mapping[str, int]
    reaches: Mapping[str, int]
    measured: int
    tenth: Sequence[CandidateRow]
    as_drawn: CandidateRow | None

    @property
    def best(self) -> Sequence[CandidateRow]:
        """The candidates that are listed."""
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
        """One candidate in so many is drawn."""
        return max(ceil(self.count / DOTS), 1)


def summary(rows: Rows) -> Summary:
    """Return the summary of the rows."""
    statuses, reaches, measured = Counter[str](), Counter[str](), 0
    for row in rows():
        statuses[row.status] += 1
        reaches[row.reach] += 1
        measured += row.margin is not None
    few = min(max(ceil(measured / 10), min(BEST, measured)), TENTH)
    known = (row for row in rows() if row.margin is not None)
    tenth = heapq.nlargest(few, known, key=lambda row: row.rank)
    first = next(iter(rows()), None)
    return Summary(sum(statuses.values()), statuses, reaches, measured, tenth, first)


def drawn(rows: Rows, summary_: Summary) -> Iterator[CandidateRow]:
    """Yield the candidates that are drawn: all, or one in so many."""
    return islice(rows(), 0, None, summary_.step)
