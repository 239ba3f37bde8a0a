"""A line with one pour more or less: solved, measured, and what it is worth beside others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from typing import Any, Literal

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import WALL
from optimizer.lineup.moulds.search import MouldSearch
from optimizer.lineup.moulds.starts import Starts, moving
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.questions.compare.compare import Candidate as Line
from optimizer.questions.compare.compare import tenths
from optimizer.questions.explore.candidate import Shared, reach
from optimizer.questions.grow.trial import started
from optimizer.scatter.inputs import stated_inputs
from optimizer.scatter.line import Line as Cast
from optimizer.scenario import Scenario, read_again
from optimizer.scenario.source.editing import edited
from shared.models import Path
from shared.units import INCH

Way = Literal["more", "fewer"]
RANKS = {"feasible": 2, "within_tolerance": 1}


@dataclass(frozen=True, eq=False)
class Grown:
    """A line as drawn, or with a pour more or less: `what` says so in words.

    `text` is its scenario with every dimension as it was picked, and `result` that scenario
    solved. `open_text` leaves its dimensions open. Walls between two of the `given` parts stand as
    they are drawn, whatever is done.
    """

    what: str
    material: str
    text: str
    open_text: str
    result: LineupResult
    given: frozenset[str]

    @property
    def line(self) -> Line:
        """The line as `compare` has it: pours, moulds, what its balls hold."""
        return Line("", "", self.result)

    @property
    def accepted(self) -> bool:
        """Whether it can be poured."""
        return self.result.accepted

    @cached_property
    def room(self) -> Margin | None:
        """The smallest margin that densities or free lengths move; None where there is none."""
        return next((m for m in self.result.margins if not self._still(m)), None)

    def _still(self, margin: Margin) -> bool:
        of = margin.bound.of
        walls = margin.bound.figure == WALL and isinstance(of, tuple) and self.given.issuperset(of)
        return walls or not (margin.movable or margin.bound.figure == WALL)

    @cached_property
    def rank(self) -> tuple[int, float, float, float]:
        """The key by which lines rank: the target met, then the smallest margin, then the room."""
        off, smallest = self.result.largest_deviation, self.result.smallest
        return (
            RANKS.get(self.result.status, 0),
            -abs(off[1].tolerances or 0.0) if off else 0.0,
            (smallest.tolerances or 0.0) if smallest else 0.0,
            (self.room.tolerances or 0.0) if self.room else 0.0,
        )

    @cached_property
    def reach(self) -> Shared | None:
        """What all weights can share at the target's low RG, and at its differential."""
        if not self.accepted:
            return None
        return reach(self.result.scenario, *self.result.figures[:2])

    @property
    def width(self) -> float | None:
        """How far apart the differentials are that all weights reach at the target's RG, cm."""
        ends = self.reach.differential if self.reach else None
        return None if ends is None else ends[1] - ends[0]

    @cached_property
    def good(self) -> float | None:
        """The share of cast lines of which every ball is good; None where no spread is stated."""
        scenario = self.result.scenario
        if not self.accepted or scenario.text.spread is None:
            return None
        share = Cast.of(self.result, stated_inputs(scenario)).good()[1]
        return share.count / share.of

    @property
    def cost(self) -> float | None:
        """The cost of a ball of each weight; None where a price or a mix isn't known."""
        return self.line.material(self.result.scenario.labels).cost

    @cached_property
    def worth(self) -> tuple[Decimal | None, ...]:
        """What counts, each the more the better, as printed; None where it isn't known."""
        return (
            tenths(self.rank[2]),
            tenths(self.rank[3]),
            None if self.width is None else Decimal(f"{self.width / INCH:.4f}"),
            Decimal(-self.line.pours),
            Decimal(-self.line.moulds),
            None if self.cost is None else -Decimal(f"{self.cost:.2f}"),
            None if self.good is None else Decimal(f"{self.good:.3f}"),
        )

    def dominates(self, other: Grown) -> bool:
        """Whether this is no worse in anything that is known of both, and better in something."""
        if not (self.accepted and other.accepted) or self.rank[:2] < other.rank[:2]:
            return False
        pairs = zip(self.worth, other.worth, strict=True)
        gains = [a - b for a, b in pairs if a is not None and b is not None]
        return min(gains) >= 0 and (max(gains) > 0 or self.rank[:2] > other.rank[:2])


@dataclass(frozen=True, eq=False)
class Growth:
    """What one pour more, or one less, is worth: `each` line that was solved, the best first.

    `fits` of the `tried` candidates are moulds; `refused` are parts that can't go, with the reason.
    Not `complete`: the search was stopped before its end.
    """

    way: Way
    count: int
    base: Grown
    each: tuple[Grown, ...]
    tried: int = 0
    fits: int = 0
    refused: tuple[tuple[str, str], ...] = ()
    complete: bool = True

    @property
    def able(self) -> tuple[Grown, ...]:
        """The lines that can be poured."""
        return tuple(line for line in self.each if line.accepted)

    def above(self, line: Grown) -> tuple[Grown, ...]:
        """Return the lines that dominate one: no worse in anything, better in something."""
        return tuple(other for other in self.each if other.dominates(line))


def given(asked: Scenario) -> frozenset[str]:
    """Return the parts of a scenario that no free dimension moves."""
    return frozenset(asked.sharing) - moving(asked)


def base(result: LineupResult) -> Grown:
    """Return the line as it is drawn."""
    asked = read_again(result.scenario.written, {})
    text = settled(asked, result.scenario)
    return Grown("as drawn", "", text, asked.source, result, given(asked))


def grown(
    asked: Scenario, what: str, material: str, still: frozenset[str], how: Starts, *, exact: bool
) -> Grown:
    """Return a line solved, its free dimensions picked. Raises InputError where no mould is found.

    Its figures are those of its text with the dimensions as they are stated in it.
    """
    if not asked.open:
        result = solve_lineup(asked, exact=exact)
        return Grown(what, material, asked.source, asked.source, result, still)
    picked = MouldSearch(asked, how, exact=exact).picked().scenario
    text = settled(asked, picked)
    result = solve_lineup(
        read_again(replace(asked.written, source=text, places=None), {}), exact=exact
    )
    unit = asked.reading.length
    lengths = {name: next(iter(by.values())) * unit for name, by in picked.chosen.items()}
    return Grown(what, material, text, started(asked, lengths), result, still)


def settled(asked: Scenario, picked: Scenario) -> str:
    """Return a scenario's text with every dimension that it leaves open as it was picked."""
    changes = dict[Path, Any]()
    for name in asked.to_pick:
        by = picked.chosen[name]
        values = set(by.values())
        changes["dimensions", name] = values.pop() if len(values) == 1 else {"each": dict(by)}
    return edited(asked.source, changes, file=asked.file)


def ranked(lines: Sequence[Grown]) -> tuple[Grown, ...]:
    """Return lines, the best first; of equals the first."""
    return tuple(sorted(lines, key=lambda line: line.rank, reverse=True))
