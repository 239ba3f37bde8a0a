"""The step in density between two pours: a largest one where they touch, a least one by name."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, ClassVar, Self

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import DENSITY_STEP
from optimizer.ball.limits.base import FigureLimit
from optimizer.ball.weight_class import LinearMap
from shared.models import AsTuple, Density, StrictModel


class NamedStep(StrictModel):
    """A part that is denser than another, by at least `min`; the two need not touch."""

    denser: str
    than: str
    min: Density


class DensityStep(FigureLimit):
    """At most `max` between the densities of a part and of its host, which touch; named pairs."""

    key: ClassVar[str] = "density_step"
    figure = DENSITY_STEP

    max: Density | None = None
    """between a part and its host, whichever is denser"""
    tolerance: Density | None = None
    between: Annotated[tuple[NamedStep, ...], AsTuple] = ()
    """pairs with a denser part, such as [{ denser = "keel", than = "spindle", min = 0.3 }]"""

    def bounds(self, linear_map: LinearMap) -> Iterator[Bound]:
        """Yield one for each order of each pair that touches, then one for each named pair."""
        yield from super().bounds(linear_map)
        for k, pair in enumerate(self.between):
            of = pair.denser, pair.than
            if linear_map.places.keys() >= set(of):
                yield Bound(
                    self.figure,
                    low=pair.min,
                    of=of,
                    weight=linear_map.label,
                    tolerance=self.tolerance,
                    path=("limits", self.key, "between", k),
                )

    @classmethod
    def example(cls) -> Self:
        """At most 1.5 g/cm³, and an insert that is denser than the block around it."""
        named = NamedStep(denser="insert", than="block", min=0.2)
        return cls(max=1.5, tolerance=0.03, between=(named,))
