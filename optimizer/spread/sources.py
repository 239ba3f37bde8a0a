"""Sources of spread, independent or correlated, and evenly spread samples of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

import numpy as np

from optimizer.spread.distribution import Distribution, Normal
from shared.arrays import Array, frozen

BITS = 30
"""Bits of a sample: a Sobol point is a multiple of 2⁻³⁰."""
AT_ONCE = 1 << 13
"""Points made at a time: what works on them stays in a processor's cache."""
NODES = 32
"""Nodes of the Gauss-Hermite rule for the correlation of two quantities."""
REPEATS = 16
"""Scramblings of the Sobol points: between them the error of a share shows."""
POINTS = 1 << 16
"""Points of each scrambling."""
SEED = 2026

Pair = tuple[int, int]


@dataclass(frozen=True, eq=False)
class Sources:
    """Quantities that vary; `correlations` of pairs by number, all others independent.

    Correlated ones have a Gaussian copula whose normals are correlated so that the quantities
    themselves have the correlations given. Raises ValueError where there is no such distribution.
    """

    distributions: Sequence[Distribution]
    correlations: Mapping[Pair, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.correlations:
            self._root  # noqa: B018 - raises where it isn't positive definite

    @cached_property
    def sd(self) -> Array:
        """The standard deviation of each source (d,)."""
        return frozen([distribution.sd for distribution in self.distributions])

    @cached_property
    def covariance(self) -> Array:
        """The covariance of the sources (d, d)."""
        matrix = np.eye(len(self.distributions))
        for (i, j), r in self.correlations.items():
            matrix[i, j] = matrix[j, i] = r
        return frozen(matrix * np.outer(self.sd, self.sd))

    @cached_property
    def _root(self) -> Array:
        """The lower triangular factor (d, d) of the correlation of the underlying normals."""
        matrix = np.eye(len(self.distributions))
        for (i, j), r in self.correlations.items():
            matrix[i, j] = matrix[j, i] = underlying(
                r, self.distributions[i], self.distributions[j]
            )
        try:
            return frozen(np.linalg.cholesky(matrix))
        except np.linalg.LinAlgError:
            raise ValueError("these correlations contradict each other") from None

    def deviations(self, shares: Array) -> Array:
        """Return the deviations (k, d) at independent shares (k, d) in (0, 1)."""
        if self.correlations:
            from scipy.special import ndtr, ndtri  # noqa: PLC0415

            shares = ndtr(ndtri(shares) @ self._root.T)
        deviations = np.empty((len(self.distributions), len(shares)))
        for row, distribution, column in zip(deviations, self.distributions, shares.T, strict=True):
            row[:] = distribution.quantiles(column)
        return deviations.T

    def samples(
        self, repeats: int = REPEATS, points: int = POINTS, seed: int = SEED
    ) -> Iterator[tuple[int, Array]]:
        """Yield deviations (k, d), scrambling after scrambling, with the scrambling's number.

        Scrambled Sobol points (Owen, 1997), as scipy makes them, at the middle of their cells.
        """
        from scipy.stats import qmc  # noqa: PLC0415

        for repeat in range(repeats):
            engine = qmc.Sobol(len(self.distributions), bits=BITS, rng=seed + repeat)
            for _ in range(0, points, AT_ONCE):
                shares = engine.random(min(AT_ONCE, points))
                yield repeat, self.deviations(shares + 2.0 ** -(BITS + 1))


def underlying(correlation: float, a: Distribution, b: Distribution) -> float:
    """Return the correlation of two normals whose quantities have `correlation`.

    Nataf's transformation (1962). Raises ValueError where no normals reach it.
    """
    if isinstance(a, Normal) and isinstance(b, Normal) and np.isinf([a.most, b.most]).all():
        return correlation
    from scipy.optimize import brentq  # noqa: PLC0415
    from scipy.special import ndtr  # noqa: PLC0415

    nodes, weights = np.polynomial.hermite_e.hermegauss(NODES)
    weights /= weights.sum()
    first, second = np.meshgrid(nodes, nodes, indexing="ij")

    def of(law: Distribution, z: Array) -> Array:
        return law.quantiles(np.clip(ndtr(z), 1e-16, 1.0 - 1e-16)) / law.sd

    def made(r: float) -> float:
        y = of(b, r * first + np.sqrt(1.0 - r * r) * second)
        return float(weights @ (of(a, first) * y) @ weights)

    most = 1.0 - 1e-9
    if not made(-most) <= correlation <= made(most):
        raise ValueError(f"two such quantities can't have a correlation of {correlation:g}")
    return float(brentq(lambda r: made(r) - correlation, -most, most, xtol=1e-10))


def pairs(members: Sequence[int], correlation: float) -> dict[Pair, float]:
    """Return the same correlation for every pair of sources."""
    return dict.fromkeys(combinations(sorted(members), 2), correlation)
