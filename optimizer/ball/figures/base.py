"""A figure of a ball: its name, its quantity, its value and its slope."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal, NamedTuple, TypeAlias

from shared.arrays import Array

if TYPE_CHECKING:  # a ball's map has bounds, and a bound has a figure
    from optimizer.ball.weight_class import Ball, LinearMap

Quantity: TypeAlias = Literal["density", "length", "rg", "mass", "imbalance", "ratio"]
"""The kind of figure, from which a page chooses the unit. Inside: g/cm³, cm, cm, g, g, none."""
Subject: TypeAlias = str | tuple[str, str] | None
"""Whose figure it is: a part, a pair such as ("girdle", "spindle"), or None, the ball."""


class Measured(NamedTuple):
    """A figure of one ball: its value, and its slope (n + d,) in densities and free dimensions.

    `slope` is None if nothing moves the figure. `error` bounds the error of the value. If the
    figure is the norm of a vector, `slope` is the derivative along the vector and `beside` (n + d,)
    that of the component perpendicular to it, which is 0 at this point.
    """

    value: float
    slope: Array | None
    error: float = 0.0
    beside: Array | None = None


@dataclass(frozen=True)
class Figure(ABC):
    """One figure of a ball; `key` identifies it, `words` name it, `asked_words` a target for it.

    By default it is a figure of the whole ball that the solver can move, to which the scenario
    gives neither a value nor a tolerance. A `linear` one is linear in the densities in any mould,
    so its rows are the same at every point.
    """

    key: ClassVar[str]
    words: ClassVar[str]
    quantity: ClassVar[Quantity]
    asked_words: ClassVar[str] = ""
    linear: ClassVar[bool] = False

    @property
    def target_words(self) -> str:
        """What a target for it is called."""
        return self.asked_words or self.words

    @abstractmethod
    def measured(self, ball: Ball, of: Subject) -> Iterator[Measured]:
        """Yield its measurements: none, one, or one for each place of a wall."""

    def value(self, ball: Ball) -> float:
        """Return the value of a figure that every ball has exactly once."""
        return next(self.measured(ball, None)).value

    def subjects(self, _one: LinearMap) -> Iterable[Subject]:
        """Return the parts or pairs in a weight class that have this figure."""
        return (None,)

    def moves(self, _one: LinearMap, _of: Subject) -> bool:
        """Whether a density or a free dimension can change it."""
        return True

    def given(self, linear_map: LinearMap, of: Subject) -> bool:
        """Whether the scenario fixes it, so that the solver can't choose it."""
        return self.asked(linear_map, of) is not None

    def asked(self, _one: LinearMap, _of: Subject) -> float | None:
        """Return the scenario's value for it, if any."""
        return None

    def tolerance(self, _one: LinearMap, _of: Subject) -> float | None:
        """Return the scenario's tolerance for it, if any."""
        return None


class TargetFigure(Figure):
    """A figure that a target may ask of all weights."""

    def given(self, linear_map: LinearMap, of: Subject) -> bool:
        """Whether the target fixes it, or nothing is sought."""
        return not linear_map.target or super().given(linear_map, of)

    def asked(self, linear_map: LinearMap, _of: Subject) -> float | None:
        """Return the target's value, if it is fixed."""
        span = linear_map.target.get(self)
        return span.low if span is not None and span.fixed else None

    def tolerance(self, linear_map: LinearMap, _of: Subject) -> float | None:
        """Return the target's tolerance, if any."""
        span = linear_map.target.get(self)
        return None if span is None else span.tolerance
