"""What a figure of a ball is: a name, a unit, and how it is measured, with its slope."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal, NamedTuple, TypeAlias

from shared.arrays import Array

if TYPE_CHECKING:  # a ball's map has bounds, and a bound has a figure
    from optimizer.ball.weight_class import Ball, LinearMap

Quantity: TypeAlias = Literal["density", "length", "rg", "mass", "imbalance", "ratio"]
"""What kind of figure: tells a report which unit to print. Inside: g/cm³, cm, cm, g, g, none."""
Subject: TypeAlias = str | tuple[str, str] | None
"""What a figure is of: a part, a pair such as ("girdle", "spindle"), or None, the whole ball."""


class Measured(NamedTuple):
    """A figure of one ball: its value, and its slope (n + d,) in what may vary of the ball.

    `slope` is None where nothing moves the figure. `error` bounds the error of the value. Where the
    figure is a norm, `slope` is the derivative along the vector and `beside` (n + d,) that of the
    component at right angles to it, which is 0 here.
    """

    value: float
    slope: Array | None
    error: float = 0.0
    beside: Array | None = None


@dataclass(frozen=True)
class Figure(ABC):
    """One figure of a ball. `key` identifies it, `words` name it, `asked_words` a target for it.

    What a subclass doesn't say: it is of the whole ball, the solver can move it, the scenario gives
    it no value, and there is no declared tolerance.
    """

    key: ClassVar[str]
    words: ClassVar[str]
    quantity: ClassVar[Quantity]
    asked_words: ClassVar[str] = ""

    @property
    def target_words(self) -> str:
        """What a target for it is called."""
        return self.asked_words or self.words

    @abstractmethod
    def measured(self, ball: Ball, of: Subject) -> Iterator[Measured]:
        """Yield it for each place where it is found: none, or several of one wall."""

    def value(self, ball: Ball) -> float:
        """Return it, of a figure of the whole ball that every ball has."""
        return next(self.measured(ball, None)).value

    def subjects(self, _one: LinearMap) -> Iterable[Subject]:
        """Return all that it is of in a weight class."""
        return (None,)

    def moves(self, _one: LinearMap, _of: Subject) -> bool:
        """Whether a density or a free dimension can change it."""
        return True

    def given(self, linear_map: LinearMap, of: Subject) -> bool:
        """Whether it is not the solver's to choose."""
        return self.asked(linear_map, of) is not None

    def asked(self, _one: LinearMap, _of: Subject) -> float | None:
        """Return the value that the scenario gives it, if any."""
        return None

    def tolerance(self, _one: LinearMap, _of: Subject) -> float | None:
        """Return the tolerance that the scenario declares for it, if any."""
        return None
