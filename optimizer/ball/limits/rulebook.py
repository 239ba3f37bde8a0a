"""The governing body's rules: data with their source, in shared/reference/rulebook.toml."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, ClassVar, Literal, Self

from optimizer.ball.bounds import Bound, Margin
from optimizer.ball.figures import FIGURES
from optimizer.ball.limits.base import Limit
from optimizer.ball.weight_class import LinearMap
from shared.reference import table
from shared.units import DENSITIES, LENGTHS, POUND, WEIGHTS

UNITS = {unit.name: unit.size for unit in (*WEIGHTS.values(), *DENSITIES.values())}
UNITS |= {unit.name: unit.size for unit in LENGTHS.values()}


class Rulebook(Limit):
    """Keep the line within a rulebook.

    No density can bring a figure that the scenario fixes (the class weight, a fixed target, the
    diameter) inside a rule: if it is outside, that is a warning. The same holds for classes lighter
    than those a rule covers, unless `all_weights` extends it to them.
    """

    key: ClassVar[str] = "rulebook"

    name: Literal["usbc"]
    all_weights: bool = False

    def bounds(self, linear_map: LinearMap) -> Iterator[Bound]:
        """Yield one for each figure and side in the table."""
        book = table("rulebook")[self.name]
        for rule in book["rules"]:
            yield from self._of_rule(linear_map, rule, book["name"])

    def _of_rule(self, linear_map: LinearMap, rule: dict[str, Any], book: str) -> Iterator[Bound]:
        figure, unit = FIGURES[rule["figure"].replace(" ", "_")], UNITS[rule["unit"]]
        worded = self.all_weights or linear_map.mass >= (rule.get("from_lb", 0) - 0.5) * POUND
        for of in figure.subjects(linear_map):
            bound = Bound(
                figure,
                of=of,
                weight=linear_map.label,
                tolerance=figure.tolerance(linear_map, of),
                path=("limits", self.key),
                rule=book,
                binds=worded and not figure.given(linear_map, of),
                note=None if worded else f"worded for {rule['from_lb']} lb or more, may not apply",
            )
            if "min" in rule:
                yield replace(bound, low=rule["min"] * unit)
            if "max" in rule:
                yield replace(bound, high=rule["max"] * unit)

    @classmethod
    def example(cls) -> Self:
        """The rulebook that is shipped."""
        return cls(name="usbc")


def rules_asked(linear_map: LinearMap) -> Iterator[Margin]:
    """Yield the margins of a weight class's given figures under the scenario's rulebook."""
    for bound in linear_map.bounds:
        value = bound.figure.asked(linear_map, bound.of) if bound.rule else None
        if value is not None:
            yield Margin(bound, linear_map.label, value, min(value - bound.low, bound.high - value))
