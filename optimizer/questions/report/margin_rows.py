"""A ball's margins as rows, the tightest first: both sides of a limit in one row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.ball.bounds import Margin
from optimizer.lineup.margins import outside
from optimizer.lineup.result import WeightResult

MOST: Final = 26
"""Rows drawn; the rest are counted."""
SECTIONS: Final = ("", "No density moves these", "Given figures, beside the rules on them")
"""The headings above the sections of rows; the first, which densities move, has none."""


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
        """The place of its heading in SECTIONS."""
        return 2 if self.tightest.rule_only else 0 if self.tightest.movable else 1

    @property
    def order(self) -> tuple[int, bool, bool, float]:
        """Sort key: section, then limits that are broken, then room; without a tolerance last."""
        least = self.tightest
        known = least.tolerances is not None
        size = (least.tolerances if known else least.slack) or 0.0
        return self.section, not outside(least), not known, size

    @property
    def ends(self) -> tuple[float | None, float | None]:
        """The least and the greatest value allowed, None at a side that is open."""
        least = self.tightest
        if least.middle is not None:
            allowed = abs(least.edge - least.middle)
            return least.middle - allowed, least.middle + allowed
        edges = {margin.bound.side: margin.edge for margin in reversed(self.margins)}
        return edges.get("min"), edges.get("max")


def rows(weight: WeightResult) -> tuple[MarginRow, ...]:
    """Return a ball's margins as rows, in the order in which they are drawn."""
    keyed: dict[object, list[Margin]] = {}
    for margin in weight.margins:
        bound = margin.bound
        key = (bound.figure, bound.rule, bound.of, bound.binds, bound.side == "both")
        keyed.setdefault(key, []).append(margin)
    every = [MarginRow(tuple(margins)) for margins in keyed.values()]
    return tuple(sorted(every, key=lambda row: row.order))


def drawn(every: Sequence[MarginRow]) -> tuple[tuple[MarginRow, ...], tuple[MarginRow, ...]]:
    """Return the rows to draw and those left out; a broken limit is never left out."""
    kept = [row for row in every if not outside(row.tightest)]
    left_out = kept[max(MOST - (len(every) - len(kept)), 0) :]
    return tuple(row for row in every if row not in left_out), tuple(left_out)
