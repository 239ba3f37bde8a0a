"""A line-up's target: the figures that all its weights share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:  # a figure measures balls, and a ball has a target
    from optimizer.ball.figures import Figure

About: TypeAlias = Literal["cg", "centre"]


@dataclass(frozen=True)
class Span:
    """A target figure of the whole line, cm: fixed (low = high), or free between two values.

    If it can't be met exactly, it may be missed by up to its `tolerance`.
    """

    low: float
    high: float
    tolerance: float | None = None

    @property
    def fixed(self) -> bool:
        """Whether the figure is given."""
        return self.low == self.high

    def at(self, value: float) -> Span:
        """Return the span fixed at a value."""
        return replace(self, low=value, high=value)


Target: TypeAlias = "Mapping[Figure, Span]"
"""The figures asked for, in the order of TARGETED; empty if nothing is sought."""
