"""A candidate as a row of the table, and how candidates rank."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

ACCEPTED: Final[Mapping[str, int]] = {"feasible": 2, "within_tolerance": 1}
"""Statuses of a mould that can be poured, and how they rank."""


@dataclass(frozen=True)
class CandidateRow:
    """A row as read: `values`, one for each slot, are in the scenario's unit, ends in inches."""

    number: int
    values: tuple[float, ...]
    status: str
    margin: float | None
    limit: str
    weight: str
    part: str
    differential: tuple[float, float] | None
    rg: tuple[float, float] | None
    reach: str
    off: float | None

    @property
    def called(self) -> str:
        """The word for it when it ranks first: "best", or "nearest" if it can't be poured."""
        return "best" if self.status in ACCEPTED else "nearest"

    @property
    def rank(self) -> tuple[int, float, float, int]:
        """Sort key: status, less off target, larger margin, first in the table."""
        margin = float("-inf") if self.margin is None else self.margin
        return ACCEPTED.get(self.status, 0), -(self.off or 0.0), margin, -self.number
