"""The rows that a linear program is made of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from optimizer.ball.bounds import Bound
from shared.arrays import Array


class Name(NamedTuple):
    """What a row is of: a bound; or what else it says, of a `weight`. One may have `way`s 0, 1, 2.

    As text it sorts the same on every run.
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
    tolerance · t. With a `price` it may be broken at that price per unit, in units of t. `eased` is
    what raising its bound's value by 1 gives to the row, in the row's unit.

    A row is made at a point. There it is exact, so that a point is judged by its own rows; away
    from it, it may be the tangent to something curved.
    """

    name: Name
    coefficients: Array
    lower: float
    upper: float
    tolerance: float | None = None
    price: float | None = None
    eased: float = 0.0
