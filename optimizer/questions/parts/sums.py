"""The figures that parts add up to, each with its unit: for the table, the picture, the words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL
from optimizer.lineup.result import LineupResult
from optimizer.paper.document import collected
from optimizer.paper.quantities import Unit, Units
from optimizer.questions.line_up.table import figures_shown
from optimizer.questions.parts.finding import Made
from shared.arrays import Array

PERCENT: Final = Unit("%", 0.01, 1)


@dataclass(frozen=True)
class Sum:
    """A figure of a ball and what `each` part (n,) adds to it, in the figure's own unit or ours.

    A `share` is of the whole, 1. `key` is letters and hyphens.
    """

    key: str
    words: str
    unit: Unit
    each: Callable[[Made], Array]

    def by_part(self, made: Made) -> dict[str, float]:
        """Return what each part of a ball adds to it."""
        names = (part.name for part in made.ball.map.parts)
        return dict(zip(names, self.each(made).tolist(), strict=True))

    def total(self, made: Made) -> float:
        """Return what they add up to."""
        return float(np.sum(self.each(made)))

    @property
    def named(self) -> str:
        """The figure and its unit."""
        return f"{self.words}, {self.unit.name}"


def intermediate(result: LineupResult) -> bool:
    """Whether intermediate RG means anything: not where the moulds are round about the pin."""
    return INTERMEDIATE_DIFFERENTIAL in figures_shown(result.weights)


@collected
def sums(result: LineupResult) -> Iterator[Sum]:
    """Yield weight, the squares of the RGs, and the differentials."""
    units, triaxial = Units.of(result.scenario), intermediate(result)
    finer = units.rg.finer(1)
    yield Sum("weight", "weight", units.mass, lambda made: made.masses)
    yield Sum("low-rg", "low RG²", PERCENT, lambda made: made.square_shares[0])
    if triaxial:
        yield Sum("intermediate-rg", "intermediate RG²", PERCENT, lambda m: m.square_shares[1])
    yield Sum("high-rg", "high RG²", PERCENT, lambda made: made.square_shares[2])
    yield Sum("differential", "differential", finer, lambda made: made.differential())
    if triaxial:
        words = INTERMEDIATE_DIFFERENTIAL.words
        yield Sum("intermediate-differential", words, finer, lambda made: made.differential(1))
