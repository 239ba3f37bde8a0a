"""What every limit can do: the contract that tests walk over the union of all limits."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from typing import ClassVar, Protocol, Self

from optimizer.linear.maps import Ball
from optimizer.linear.rows import Margin
from shared.models import StrictModel


class Measures(Protocol):
    """What the line-up asks of a limit, and of whatever stands for one."""

    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield how far `ball` is from the limit, with the gradient in its densities."""


class Limit(StrictModel, ABC):
    """A limit of the user's: its fields are the grammar of its key under [limits].

    It says one thing, the margins of a ball with their gradients; the program's rows follow from
    these, so that what is optimised and what is reported can't differ.
    """

    key: ClassVar[str]

    @abstractmethod
    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield how far `ball` is from this limit, exactly, with the gradient in its densities."""

    def names(self) -> tuple[str, ...]:
        """Part names that the limit mentions, for the reader to check."""
        return ()

    @classmethod
    @abstractmethod
    def example(cls) -> Self:
        """An ordinary limit, for tests and documentation."""
