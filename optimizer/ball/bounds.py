"""Bounds on a ball's figures, and margins: a ball's distance from each bound.

Every requirement on a ball is a bound on one of its figures. A target or a fixed density bounds it
on both sides; the end of a density range, a limit or a rule on one side.
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
    """A figure of a ball between `low` and `high`; one of them may be infinite.

    `of` is the part or pair whose figure it is, None for the whole ball; `weight` the class's
    label, None for the whole line. `tolerance` is the declared spread, in the figure's own unit.
    `path` is the place in the scenario that sets the bound; `rule` the rulebook's name if it is one
    of its rules. A rule on a figure that the solver can't choose doesn't `bind`: breaking it is a
    warning.
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

    @cached_property
    def side(self) -> Side:
        """Which side of the figure it limits."""
        return (
            "max" if self.low == -float("inf") else "min" if self.high == float("inf") else "both"
        )

    @property
    def value(self) -> float:
        """The limiting value; the lower one if it limits both sides."""
        return self.high if self.side == "max" else self.low

    @property
    def way(self) -> float:
        """The sign of the slack's change with the figure: 1 at a minimum, -1 at a maximum."""
        return -1.0 if self.side == "max" else 1.0

    @property
    def sort(self) -> tuple[str, Side, Subject, str | None]:
        """A key shared by bounds that differ only in weight class or value."""
        return self.figure.key, self.side, self.of, self.rule

    @property
    def words(self) -> str:
        """Its name without the part: "density max", "class weight", "USBC rg min"."""
        return f"{self.figure_words}{'' if self.side == 'both' else f' {self.side}'}"

    @property
    def name(self) -> str:
        """Its full name: "keel density max"."""
        return named(self.of, self.words)

    @property
    def figure_words(self) -> str:
        """The figure it limits: "density", "class weight", "USBC rg"."""
        if self.rule is not None:
            return f"{self.rule} {self.figure.key.replace('_', ' ')}"
        return self.figure.words if self.side != "both" else self.figure.target_words

    @cached_property
    def everywhere(self) -> Bound:
        """The same bound for the whole line."""
        return replace(self, weight=None)

    def moved(self, amount: float) -> Bound:
        """Return the bound with its value changed by `amount`."""
        return replace(self, low=self.low + amount, high=self.high + amount)

    def held(self, linear_map: LinearMap) -> bool:
        """Whether the solver must keep it: a binding limit on a figure that can change."""
        return self.side != "both" and self.binds and self.figure.moves(linear_map, self.of)

    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield the ball's margin at each place where the figure is measured."""
        for value, slope, error, beside in ball.measured(self.figure, self.of):
            gradient = None if slope is None else self.way * slope
            slack = min(value - error - self.low, self.high - value - error)
            yield Margin(self, ball.map.label, value, slack, gradient, beside)


def named(of: Subject, words: str) -> str:
    """Return `words` with the part or pair in front."""
    return f"{of if isinstance(of, str) else '-'.join(of or ())} {words}".strip()


@dataclass(frozen=True, eq=False)
class Margin:
    """The distance of one ball's figure from a bound, exactly as measured.

    `slack` is positive inside; for a two-sided bound it is what is left of the tolerance.
    `gradient` (n + d,) is the derivative of the slack in the densities and free dimensions, None
    if nothing moves it; `beside` is as in `Measured`.
    """

    bound: Bound
    weight: str
    value: float
    slack: float
    gradient: Array | None = None
    beside: Array | None = None

    @property
    def part(self) -> Subject:
        """The part or pair whose figure it is; None for the whole ball."""
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
        """A remark to print beside the bound."""
        return self.bound.note

    @property
    def rule_only(self) -> bool:
        """Whether it compares a given figure with a rule, which can't make a line infeasible."""
        return not self.bound.binds

    @property
    def words(self) -> str:
        """Its name: "density max", "low RG within tolerance"."""
        return f"{self.bound.words}{'' if self.middle is None else ' within tolerance'}"

    @property
    def middle(self) -> float | None:
        """The target value of a two-sided bound; None for others."""
        return self.bound.value if self.bound.side == "both" else None

    @property
    def edge(self) -> float:
        """The value at which the slack is zero; the nearer one for a two-sided bound."""
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
        """Whether a density or a free dimension can change it, even if only by a jump."""
        return self.gradient is not None
