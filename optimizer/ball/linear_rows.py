"""The rows of a linear program."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from optimizer.ball.bounds import Bound
from shared.arrays import Array


class Name(NamedTuple):
    """What a row states: a bound, or some other condition on a `weight`.

    `way` (0, 1, 2) tells several rows of one bound apart. As text, names sort alike in every run.
    """

    of: Bound | str
    way: int = 0
    weight: str | None = None

    def __str__(self) -> str:
        return f"{self.of} {self.way} {self.weight}"


@dataclass(frozen=True, eq=False)
class LinearRow:
    """One row of a program: lower ≤ coefficients · x ≤ upper, over the program's columns.

    With a `tolerance` it is a margin's row: the slack to its one finite side must be at least
    tolerance · t. With a `price` it may be violated at that price per unit, in units of t. `eased`
    is the slack gained, in the row's unit, when the bound's value rises by 1.

    A row is linearised at a point and exact there, so a point is judged by its own rows; elsewhere
    it may be the tangent to a curved constraint.
    """

    name: Name
    coefficients: Array
    lower: float
    upper: float
    tolerance: float | None = None
    price: float | None = None
    eased: float = 0.0
