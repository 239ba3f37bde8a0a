"""The interface of every limit, tested over the union of all limits."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from typing import ClassVar, Self

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import Figure
from optimizer.ball.weight_class import LinearMap
from shared.models import StrictModel


class Limit(StrictModel, ABC):
    """A limit set by the user: its fields are the grammar of its key under [limits].

    It yields bounds on a ball's figures; margins and the program's rows follow from these, so the
    program and the report can't differ.
    """

    key: ClassVar[str]

    @abstractmethod
    def bounds(self, linear_map: LinearMap) -> Iterator[Bound]:
        """Yield its bounds on the balls of a weight class."""

    @classmethod
    @abstractmethod
    def example(cls) -> Self:
        """An ordinary limit, for tests and documentation."""


class FigureLimit(Limit):
    """A limit on one figure: the table has some of `min`, `max` and `tolerance`."""

    figure: ClassVar[Figure]
    unit: ClassVar[float] = 1.0

    def bounds(self, linear_map: LinearMap) -> Iterator[Bound]:
        """Yield one for each end that is given, except a minimum of 0 for the whole ball."""
        ends = {"low": getattr(self, "min", None) or None, "high": getattr(self, "max", None)}
        tolerance = getattr(self, "tolerance", None)
        for of in self.figure.subjects(linear_map):
            for end, value in ends.items():
                if value is not None:
                    yield Bound(
                        self.figure,
                        of=of,
                        weight=linear_map.label,
                        tolerance=None if tolerance is None else tolerance * self.unit,
                        path=("limits", self.key),
                        **{end: value * self.unit},
                    )
