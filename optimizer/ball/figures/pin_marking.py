"""Pin marking: from the pin to the low-RG axis, on the surface."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.weight_class import Ball, LinearMap


class _PinMarking(Figure):
    """With all parts on the pin axis it is 0 or a right angle; no density turns it gradually."""

    key, words, quantity = "pin_marking", "pin marking", "length"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        """Yield nothing if the low RG belongs to no single axis."""
        radii, radius = ball.radii, ball.map.radius
        if (tilt := radii.pin_tilt) is not None:
            turns = ball.pull(radii.pin_tilt_slope(ball.properties.mass))
            yield Measured(radius * tilt, radius * turns)

    def given(self, linear_map: LinearMap, _of: Subject) -> bool:
        return linear_map.aligned


PIN_MARKING = _PinMarking()
