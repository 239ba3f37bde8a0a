"""How one quantity is spread about its nominal value: always symmetrically.

Quantiles and standard deviations are closed forms (GUM supplement 1, JCGM 101:2008, section 6.4).
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from shared.arrays import Array


@dataclass(frozen=True)
class Distribution(ABC):
    """The deviation of a quantity from its nominal value, in the quantity's own unit.

    `count` is the number of observations that it was measured from, None where it is assumed.
    """

    count: int | None = None

    @property
    @abstractmethod
    def sd(self) -> float:
        """The standard deviation."""

    @property
    @abstractmethod
    def most(self) -> float:
        """The largest deviation; inf where there is none."""

    @property
    @abstractmethod
    def width(self) -> float:
        """What states it: ± its ends, or the standard deviation of a normal."""

    def scaled(self, factor: float) -> Self:
        """Return the distribution of deviations `factor` times as large: assumed, not measured."""
        sizes = {name: size for name, size in vars(self).items() if name != "count"}
        return replace(self, count=None, **{name: size * factor for name, size in sizes.items()})

    @abstractmethod
    def quantiles(self, share: Array) -> Array:
        """Return the deviations below which these shares in (0, 1) lie."""

    @property
    def measured(self) -> bool:
        """Whether it was measured rather than assumed."""
        return self.count is not None


@dataclass(frozen=True)
class _Between(Distribution):
    """Within ± `half`."""

    half: float = 0.0

    @property
    def most(self) -> float:
        """The largest deviation."""
        return self.half

    @property
    def width(self) -> float:
        """± its ends."""
        return self.half


@dataclass(frozen=True)
class Uniform(_Between):
    """Anything within ± `half`, equally likely."""

    @property
    def sd(self) -> float:
        """The standard deviation."""
        return self.half / math.sqrt(3.0)

    def quantiles(self, share: Array) -> Array:
        """Return the deviations below which these shares lie."""
        return np.asarray(self.half * (2.0 * share - 1.0))


@dataclass(frozen=True)
class Triangular(_Between):
    """Within ± `half`, the likelier the nearer to the nominal value."""

    @property
    def sd(self) -> float:
        """The standard deviation."""
        return self.half / math.sqrt(6.0)

    def quantiles(self, share: Array) -> Array:
        """Return the deviations below which these shares lie."""
        beyond = 1.0 - np.sqrt(2.0 * np.minimum(share, 1.0 - share))
        return np.asarray(np.where(share < 0.5, -1.0, 1.0) * self.half * beyond)


@dataclass(frozen=True)
class Normal(Distribution):
    """A normal distribution of standard deviation `deviation`, cut off at ± `bound` if finite."""

    deviation: float = 0.0
    bound: float = math.inf

    @property
    def _reach(self) -> float:
        return self.bound / self.deviation

    @property
    def sd(self) -> float:
        """The standard deviation; of a truncated one by moments of χ² within its bound."""
        if math.isinf(self.bound):
            return self.deviation
        from scipy.special import gammainc  # noqa: PLC0415 - heavy: only where spread is asked

        half = self._reach**2 / 2.0
        return self.deviation * math.sqrt(gammainc(1.5, half) / gammainc(0.5, half))

    @property
    def most(self) -> float:
        """The largest deviation."""
        return self.bound

    @property
    def width(self) -> float:
        """The standard deviation before it is cut off."""
        return self.deviation

    def quantiles(self, share: Array) -> Array:
        """Return the deviations below which these shares lie."""
        from scipy.special import ndtr, ndtri  # noqa: PLC0415 - heavy: only where spread is asked

        below = ndtr(-self._reach) if math.isfinite(self.bound) else 0.0
        return np.asarray(self.deviation * ndtri(below + (1.0 - 2.0 * below) * share))
