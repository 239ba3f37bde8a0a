"""Bounds, and margins: how far a ball is from each of them.

All that is asked of a ball is a bound on one of its figures: a target or a fixed density on both
sides of it, the end of a density range, a limit or a rule on one side.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, TypeAlias

from optimizer.ball.figures import Figure, Quantity, Subject
from optimizer.ball.weight_class import Ball, LinearMap
from shared.arrays import Array
from shared.models import Path

Side: TypeAlias = Literal["min", "max", "both"]


@dataclass(frozen=True)
class Bound:
    """A figure of a ball between `low` and `high`, of which one may be infinite.

    `of` is the part or pair that the figure is of, `weight` the class's label; None of the whole
    line. `tolerance` is the declared spread, in the figure's own unit. `path` is the place in the
    scenario that sets the bound, `rule` the rulebook's name where it is one of its rules. A rule on
    a figure that the solver can't choose doesn't `bind`: outside of it is a warning.
    """

    figure: Figure
    low: float = -float("inf")
    high: float = float("inf")
    of: Subject = None
    weight: str | None = None
    tolerance: float | None = None
    path: Path = ()
    rule: str | None = None
    binds: bool = True
    note: str | None = None

    def __hash__(self) -> int:
        return hash((self.figure.key, self.low, self.high, self.of, self.weight))

    def __str__(self) -> str:
        return f"{self.weight}: {self.name}"

    @property
    def side(self) -> Side:
        """The side of the figure that it is on."""
        return (
            "max" if self.low == -float("inf") else "min" if self.high == float("inf") else "both"
        )

    @property
    def value(self) -> float:
        """The bound itself; of one on both sides the lower end."""
        return self.high if self.side == "max" else self.low

    @property
    def way(self) -> float:
        """The sign of the slack's change with the figure: 1 at a minimum, -1 at a maximum."""
        return -1.0 if self.side == "max" else 1.0

    @property
    def sort(self) -> tuple[str, Side, Subject, str | None]:
        """What is alike of bounds that other weights or scenarios set in their own way."""
        return self.figure.key, self.side, self.of, self.rule

    @property
    def words(self) -> str:
        """What it is called: "density max", "class weight", "USBC rg min"."""
        return f"{self.figure_words}{'' if self.side == 'both' else f' {self.side}'}"

    @property
    def name(self) -> str:
        """What it is called, and of what: "keel density max"."""
        return named(self.of, self.words)

    @property
    def figure_words(self) -> str:
        """What is bounded: "density", "class weight", "USBC rg"."""
        if self.rule is not None:
            return f"{self.rule} {self.figure.key.replace('_', ' ')}"
        return self.figure.words if self.side != "both" else self.figure.target_words

    @cached_property
    def everywhere(self) -> Bound:
        """The same bound, of the whole line."""
        return replace(self, weight=None)

    def moved(self, amount: float) -> Bound:
        """Return the bound with its value changed by `amount`."""
        return replace(self, low=self.low + amount, high=self.high + amount)

    def held(self, linear_map: LinearMap) -> bool:
        """Whether it is the solver's to keep: a limit that binds, on what can be moved."""
        return self.side != "both" and self.binds and self.figure.moves(linear_map, self.of)

    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield how far a ball is inside, at each place where the figure is found."""
        for value, slope, error, beside in self.figure.measured(ball, self.of):
            gradient = None if slope is None else self.way * slope
            slack = min(value - error - self.low, self.high - value - error)
            yield Margin(self, ball.map.label, value, slack, gradient, beside)


def named(of: Subject, words: str) -> str:
    """Return `words` after what they are of."""
    return f"{of if isinstance(of, str) else '-'.join(of or ())} {words}".strip()


@dataclass(frozen=True, eq=False)
class Margin:
    """How far a figure of one ball is from a bound, exactly as measured.

    `slack` is positive inside; of a bound on both sides it is what is left of its tolerance.
    `gradient` (n + d,) is the derivative of the slack in what may vary of the ball, None where
    nothing moves it; `beside` is that of `Measured`.
    """

    bound: Bound
    weight: str
    value: float
    slack: float
    gradient: Array | None = None
    beside: Array | None = None

    @property
    def part(self) -> Subject:
        """The part or pair that the figure is of; None of the whole ball."""
        return self.bound.of

    @property
    def quantity(self) -> Quantity:
        """What kind of figure it is."""
        return self.bound.figure.quantity

    @property
    def tolerance(self) -> float | None:
        """The declared spread of the figure, in its own unit."""
        return self.bound.tolerance

    @property
    def note(self) -> str | None:
        """What is to be said beside the bound."""
        return self.bound.note

    @property
    def rule_only(self) -> bool:
        """Whether it tells how a given figure stands to a rule, which makes nothing infeasible."""
        return not self.bound.binds

    @property
    def words(self) -> str:
        """What it is called: "density max", "low RG within tolerance"."""
        return f"{self.bound.words}{'' if self.middle is None else ' within tolerance'}"

    @property
    def middle(self) -> float | None:
        """What is asked for, of a bound on both sides."""
        return self.bound.value if self.bound.side == "both" else None

    @property
    def edge(self) -> float:
        """The value at which there is no slack; of a bound on both sides the nearer one."""
        if self.middle is None:
            return self.bound.value
        allowed = self.tolerance or 0.0
        return self.middle + (-allowed if self.value < self.middle else allowed)

    @property
    def tolerances(self) -> float | None:
        """The slack, in tolerances."""
        return None if self.tolerance is None else self.slack / self.tolerance

    @property
    def movable(self) -> bool:
        """Whether a density or a free dimension can change it, if only by a leap (gradient 0)."""
        return self.gradient is not None
