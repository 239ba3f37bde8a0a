"""The step in density between two pours that touch."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar, Self

from optimizer.limits.base import Limit
from optimizer.linear.maps import Ball
from optimizer.linear.rows import Margin
from shared.models import Density


class DensityStep(Limit):
    """At most `max` between the density of a part and that of its host, which it touches."""

    key: ClassVar[str] = "density_step"

    max: Density
    tolerance: Density | None = None

    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield one margin each way for each part and each of its hosts."""
        place = {part.name: i for i, part in enumerate(ball.map.parts)}
        for i, part in enumerate(ball.map.parts):
            hosts = [place[host] for host in part.hosts]
            for inner, outer in [pair for j in hosts for pair in ((i, j), (j, i))]:
                step = float(ball.densities[inner] - ball.densities[outer])
                yield Margin(
                    weight=ball.map.label,
                    limit="density step max",
                    part=(ball.map.parts[inner].name, ball.map.parts[outer].name),
                    value=step,
                    bound=self.max,
                    slack=self.max - step,
                    quantity="density",
                    tolerance=self.tolerance,
                    gradient=ball.unit(outer) - ball.unit(inner),
                )

    @classmethod
    def example(cls) -> Self:
        """A step of 1.5 g/cm³."""
        return cls(max=1.5, tolerance=0.03)
