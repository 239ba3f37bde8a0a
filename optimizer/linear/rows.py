"""Margins, as they are measured, and the labelled rows that a program is made of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shared.arrays import Array

Quantity = Literal["density", "length", "rg", "mass", "imbalance", "ratio"]
"""What kind of figure: tells a report which unit to print. Inside: g/cm³, cm, cm, g, g, none."""


@dataclass(frozen=True, eq=False)
class Margin:
    """How far a figure of one ball is from one limit, exactly as measured.

    `slack` is positive inside the limit. `gradient` (n + d,) is the derivative of the slack in what
    may vary of the ball, or None when nothing moves it. `tolerance` is the declared spread of the
    quantity, in its own unit, or None. `part` names what the limit is about: a part, a pair
    ("girdle", "spindle"), or None for the whole ball. A `rule_only` margin tells how a given figure
    stands to a rule: outside of it is a warning, it never makes a line-up infeasible. What has a
    limit on either side has its `middle` too; `bound` is then the nearer one.

    Where a figure with a greatest value is the length of a vector, `gradient` is the derivative
    along it and `beside` (n + d,) that of the figure's part at right angles, which is 0 here: it
    alone must keep within the bound, too, either way.
    """

    weight: str
    limit: str
    part: str | tuple[str, str] | None
    value: float
    bound: float
    slack: float
    quantity: Quantity
    tolerance: float | None
    gradient: Array | None = None
    rule_only: bool = False
    note: str | None = None
    beside: Array | None = None
    middle: float | None = None

    @property
    def tolerances(self) -> float | None:
        """The slack, in tolerances."""
        return None if self.tolerance is None else self.slack / self.tolerance

    @property
    def movable(self) -> bool:
        """Whether a density or a free dimension can change it, if only by a leap (gradient 0)."""
        return self.gradient is not None


@dataclass(frozen=True, eq=False)
class LinearRow:
    """One row of a program: lower ≤ coefficients · x ≤ upper, over the program's columns.

    With a `tolerance` it is a margin's row: the slack to its one finite side must be at least
    tolerance · t. With a `price` it may be broken at that price per unit, in units of t.

    A row is made at a point. There it is exact, so that a point is judged by its own rows; away
    from it, it may be the tangent to something curved.
    """

    label: str
    coefficients: Array
    lower: float
    upper: float
    tolerance: float | None = None
    price: float | None = None
