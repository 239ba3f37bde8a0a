"""The governing body's figures: data rows with their source, in shared/reference/rulebook.toml."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import ClassVar, Literal, Self

import numpy as np

from geometry.mass_properties import MASS_SLOPE
from optimizer.limits.base import Limit, Measures
from optimizer.linear.maps import Ball, LinearMap
from optimizer.linear.rows import Margin, Quantity
from shared.arrays import Array
from shared.reference import table
from shared.units import INCH, POUND

UNITS = {"lb": POUND, "in": INCH, "g/cm3": 1.0}


@dataclass(frozen=True, eq=False, kw_only=True)
class Figure:
    """A measured figure that a rule speaks of; `gradient` (n,) or None when nothing moves it.

    `asked` is what the scenario itself gives of it, if it does.
    """

    quantity: Quantity
    value: float
    tolerance: float | None
    gradient: Array | None = None
    part: str | None = None
    given: bool = False
    asked: float | None = None


class Rulebook(Limit):
    """Hold the line to a rulebook's figures.

    A rule on a figure that the scenario itself gives (the class weight, a fixed target, the
    diameter) can't be met by any density: outside of it is a warning. The same holds for classes
    lighter than those a rule is worded for, unless `all_weights` says that it is meant for them.
    """

    key: ClassVar[str] = "rulebook"

    name: Literal["usbc"]
    all_weights: bool = False

    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield "USBC rg min" and so on, one for each figure and side of the table."""
        return self._margins(ball, lambda figure: figure.value)

    def asked(self, one: LinearMap) -> Iterator[Margin]:
        """Yield the margins of what the scenario gives of a weight class, whatever is poured."""
        ball = one.ball(np.array([pour.low for pour in one.pours]))
        return self._margins(ball, lambda figure: figure.asked)

    def _margins(self, ball: Ball, of: Callable[[Figure], float | None]) -> Iterator[Margin]:
        book = table("rulebook")[self.name]
        for rule in book["rules"]:
            worded = self.all_weights or ball.map.mass >= (rule.get("from_lb", 0) - 0.5) * POUND
            note = None if worded else f"worded for {rule['from_lb']} lb or more, may not apply"
            for figure in FIGURES[rule["figure"]](ball):
                value = of(figure)
                if value is None:
                    continue
                for side, sign in (("min", 1.0), ("max", -1.0)):
                    if side not in rule:
                        continue
                    bound = rule[side] * UNITS[rule["unit"]]
                    yield Margin(
                        weight=ball.map.label,
                        limit=f"{book['name']} {rule['figure']} {side}",
                        part=figure.part,
                        value=value,
                        bound=bound,
                        slack=sign * (value - bound),
                        quantity=figure.quantity,
                        tolerance=figure.tolerance,
                        gradient=None if figure.gradient is None else sign * figure.gradient,
                        rule_only=figure.given or not worded,
                        note=note,
                    )

    @classmethod
    def example(cls) -> Self:
        """The one that is shipped."""
        return cls(name="usbc")


def rules_asked(maps: Iterable[LinearMap], limits: Iterable[Measures]) -> Iterator[Margin]:
    """Yield how what a scenario gives of some weight classes stands to the rulebook it names."""
    books = [limit for limit in limits if isinstance(limit, Rulebook)]
    for one in maps:
        for book in books:
            yield from book.asked(one)


def _weight(ball: Ball) -> Iterator[Figure]:
    yield Figure(
        quantity="mass",
        value=ball.properties.mass,
        tolerance=ball.map.mass_tolerance,
        gradient=ball.pull(MASS_SLOPE),
        given=True,
        asked=ball.map.mass,
    )


def _diameter(ball: Ball) -> Iterator[Figure]:
    across = 2 * ball.map.radius
    yield Figure(quantity="length", value=across, tolerance=None, given=True, asked=across)


def _rg(ball: Ball) -> Iterator[Figure]:
    radii, target = ball.radii, ball.map.target
    yield Figure(
        quantity="rg",
        value=radii.low,
        tolerance=None if target is None else target.rg_tolerance,
        gradient=ball.radius_gradient(0),
        given=target is None or target.rg.fixed,
        asked=target.rg.low if target is not None and target.rg.fixed else None,
    )


def _differential(ball: Ball) -> Iterator[Figure]:
    radii, target = ball.radii, ball.map.target
    yield Figure(
        quantity="rg",
        value=radii.differential,
        tolerance=None if target is None else target.differential_tolerance,
        gradient=ball.radius_gradient(2) - ball.radius_gradient(0),
        given=target is None or target.differential.fixed,
        asked=target.differential.low if target is not None and target.differential.fixed else None,
    )


def _density(ball: Ball) -> Iterator[Figure]:
    for i, pour in enumerate(ball.map.pours):
        yield Figure(
            quantity="density",
            value=float(ball.densities[i]),
            tolerance=pour.tolerance,
            gradient=None if pour.fixed else ball.unit(i),
            part=pour.part,
            given=pour.fixed,
            asked=pour.low if pour.fixed else None,
        )


def _pin_marking(ball: Ball) -> Iterator[Figure]:
    """From the pin to the low-RG axis, on the surface.

    Where all parts sit on the pin axis it is on it, or at right angles: no density turns it a bit.
    """
    radii = ball.radii
    if radii.pin_tilt is None:
        return
    turns = ball.pull(radii.pin_tilt_slope(ball.properties.mass))
    yield Figure(
        quantity="length",
        value=ball.map.radius * radii.pin_tilt,
        tolerance=None,
        gradient=ball.map.radius * turns,
        given=ball.map.aligned,
    )


FIGURES: dict[str, Callable[[Ball], Iterator[Figure]]] = {
    "weight": _weight,
    "diameter": _diameter,
    "rg": _rg,
    "differential": _differential,
    "density": _density,
    "pin marking": _pin_marking,
}
