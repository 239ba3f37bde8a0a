"""A ball's margins as rows, the tightest first: a limit's two sides together, and what is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.ball.bounds import Margin
from optimizer.lineup.margins import outside
from optimizer.lineup.result import WeightResult

MOST: Final = 26
"""Rows that are drawn; the rest are counted."""
SECTIONS: Final = ("", "No density moves these", "Given figures, beside the rules on them")
"""What is told above rows of a kind: densities move the first."""


@dataclass(frozen=True)
class MarginRow:
    """A limit's two sides, where it has both, and the figure of the ball between them."""

    margins: tuple[Margin, ...]

    @property
    def tightest(self) -> Margin:
        """The side with the least room."""
        return min(self.margins, key=lambda m: m.slack)

    @property
    def section(self) -> int:
        """Where it stands, in SECTIONS."""
        return 2 if self.tightest.rule_only else 0 if self.tightest.movable else 1

    @property
    def order(self) -> tuple[int, bool, bool, float]:
        """By section; in each what is outside first, least room, what has no tolerance last."""
        least = self.tightest
        known = least.tolerances is not None
        size = (least.tolerances if known else least.slack) or 0.0
        return self.section, not outside(least), not known, size

    def bound(self, side: str) -> float | None:
        """The bound at the side "min" or "max", None where it is open."""
        least = self.tightest
        if least.middle is not None:
            allowed = abs(least.edge - least.middle)
            return least.middle + (allowed if side == "max" else -allowed)
        return next((m.edge for m in self.margins if m.bound.side == side), None)


def rows(weight: WeightResult) -> tuple[MarginRow, ...]:
    """Return a ball's margins as rows, in the order in which they stand."""
    keyed: dict[object, list[Margin]] = {}
    for margin in weight.margins:
        bound = margin.bound
        key = (bound.figure, bound.rule, bound.of, bound.binds, bound.side == "both")
        keyed.setdefault(key, []).append(margin)
    return tuple(
        sorted((MarginRow(tuple(margins)) for margins in keyed.values()), key=lambda row: row.order)
    )


def drawn(every: Sequence[MarginRow]) -> tuple[tuple[MarginRow, ...], tuple[MarginRow, ...]]:
    """Return the rows that are drawn and those that are left out: never one that is outside."""
    kept = [row for row in every if not outside(row.tightest)]
    left_out = kept[max(MOST - (len(every) - len(kept)), 0) :]
    return tuple(row for row in every if row not in left_out), tuple(left_out)
