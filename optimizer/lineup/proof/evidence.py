"""Evidence for what is said of a line-up: a proof that there is none, or a line-up that there is.

Both are data that `optimizer.certificate` checks.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.proof.known import Known
from optimizer.lineup.proof.question import ball_data, question_data
from shared.arrays import Array


@dataclass(frozen=True, eq=False)
class Evidence:
    """A claim that there is no line-up that meets a question, or one.

    `about` says in words what it is for, `balls` are those of the question, by label; `shown` has
    the tree of boxes as "none", or the densities of a line-up as "some".
    """

    about: str
    balls: Mapping[str, Any]
    question: Mapping[str, Any]
    shown: Mapping[str, Any]

    @classmethod
    def none(cls, known: Known, level: float, tree: Sequence[Any]) -> Evidence:
        """Return the evidence, a tree of boxes, that no line-up has what a relaxation asks."""
        return cls("", _balls(known.maps), question_data(known, level), {"none": tree})

    @classmethod
    def some(cls, about: str, known: Known, x: Array) -> Evidence:
        """Return the evidence, the densities among the columns `x`, that a line-up has it."""
        asked = cls(about, _balls(known.maps), question_data(known, 0.0), {})
        return replace(asked, shown={"some": asked.densities(x)})

    def densities(self, x: Array) -> list[float]:
        """Return the densities among the columns `x`, none of them beyond its range by rounding."""
        ranges = np.array(self.question["densities"])
        return [float(density) for density in np.clip(x[: len(ranges)], *ranges.T)]

    def called(self, about: str) -> Evidence:
        """Return it with words for what it is about."""
        return replace(self, about=about)

    @property
    def data(self) -> dict[str, Any]:
        """The claim, as the checker reads it."""
        return {"about": self.about, "question": self.question, **self.shown}


def _balls(maps: Iterable[LinearMap]) -> dict[str, Any]:
    return {linear_map.label: ball_data(linear_map) for linear_map in maps}
