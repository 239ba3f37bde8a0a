"""What a shop's scales can show."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal
from typing import Final

from optimizer.scenario.text.shop_text import FoundryText
from shared.rounding import rounded

UNSAID: Final = Decimal("0.01")
"""g. The rounding of masses where the scenario names no scale."""
SHARE: Final = Decimal("0.001")
"""Weighing rule of thumb: an error of at most 0.1 % of the reading (common practice, no source)."""


@dataclass(frozen=True)
class Scales:
    """A scale, and perhaps a finer one for amounts up to a limit: readabilities and limit, g."""

    readability: Decimal = UNSAID
    fine: tuple[Decimal, Decimal] | None = None

    @classmethod
    def of(cls, shop: FoundryText) -> Scales:
        """Return the scales that the scenario names."""
        if shop.scale is None:
            return cls()
        readability, fine = as_written(shop.scale), shop.fine_scale
        if fine is None:
            return cls(readability)
        return cls(readability, (as_written(fine.readability), as_written(fine.up_to)))

    def step(self, grams: float | Decimal) -> Decimal:
        """Return the readability of the scale for an amount."""
        if self.fine is not None and grams <= self.fine[1]:
            return self.fine[0]
        return self.readability

    def shown(self, grams: float | Decimal) -> Decimal:
        """Return an amount as its scale shows it, half to even.

        >>> Scales(Decimal("0.5"), (Decimal("0.1"), Decimal(200))).shown(312.3)
        Decimal('312.5')
        """
        step = self.step(grams)
        exact = grams if isinstance(grams, Decimal) else Decimal(repr(float(grams)))
        steps = (exact / step).quantize(Decimal(1), ROUND_HALF_EVEN)
        return steps * step + Decimal(0)

    def enough(self, grams: float | Decimal) -> Decimal:
        """Return an amount rounded up to its scale, to a millionth of a gram.

        >>> Scales(Decimal("0.5"), (Decimal("0.1"), Decimal(200))).enough(312.1)
        Decimal('312.5')
        """
        step, exact = self.step(grams), rounded(grams, 6)
        return (exact / step).quantize(Decimal(1), ROUND_CEILING) * step

    def weighed(self, grams: float | Decimal) -> tuple[Decimal, Decimal]:
        """Return an amount as its scale shows it, and the ± within which to weigh it.

        That is a step of the display, or 0.1 % where it is more.
        """
        step, shown = self.step(grams), self.shown(grams)
        return shown, max(step, (shown * SHARE // step) * step)


def as_written(value: float) -> Decimal:
    """Return a number as it is written in the scenario."""
    return Decimal(f"{value:.12g}")
