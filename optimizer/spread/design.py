"""Which measurements tell most: the next one, and how to share out many.

Fedorov's theory of optimal experiments, and the equivalence theorem of Kiefer and Wolfowitz
(from memory; Atkinson, Donev and Tobias, 2007).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from shared.arrays import Array
from shared.errors import SolverError

ROUNDS: Final = 1000
"""Rounds of exchanges in the search for a design."""
NEAR: Final = 1e-6
"""Relative room of the equivalence theorem that a design may leave."""


@dataclass(frozen=True, eq=False)
class Candidates:
    """Measurements that could be made next, where parameters have `covariance` (d, d) now.

    `rows` (c, d) are their derivatives in the parameters, `variances` (c,) those of their gauges:
    more than 0.
    """

    covariance: Array
    rows: Array
    variances: Array

    @property
    def spread(self) -> Array:
        """The variance (c,) of what each would read."""
        known = np.einsum("ci,ij,cj->c", self.rows, self.covariance, self.rows)
        return np.asarray(known + self.variances)

    @property
    def gains(self) -> Array:
        """By how much each (c,) would lower the log determinant of the covariance: D-optimality."""
        return np.log(self.spread / self.variances)

    def gains_on(self, combinations: Array) -> Array:
        """By how much each (c,) would lower the log determinant of some `combinations` (q, d).

        D-optimality where the other parameters are of no interest (Ds). The combinations vary.
        """
        known = combinations @ self.covariance @ combinations.T
        size = np.sqrt(np.diag(known))
        with_each = (combinations @ self.covariance @ self.rows.T) / size[:, None]
        share = np.linalg.pinv(known / np.outer(size, size), hermitian=True) @ with_each
        told = np.einsum("qc,qc->c", with_each, share) / self.spread
        with np.errstate(divide="ignore"):
            return np.asarray(-np.log(np.maximum(1.0 - told, 0.0)))

    def variances_after(self, combination: Array) -> Array:
        """Return the variance of a `combination` (d,) of the parameters after each (c,)."""
        with_each = self.rows @ self.covariance @ combination
        now = combination @ self.covariance @ combination
        return np.asarray(np.maximum(now - with_each**2 / self.spread, 0.0))

    def gains_of(self, combination: Array) -> Array:
        """By how much each (c,) would lower the log variance of a `combination`: c-optimality.

        Raises ValueError if it is known exactly already.
        """
        now = float(combination @ self.covariance @ combination)
        if now <= 0.0:
            raise ValueError("this is known exactly: nothing tells more of it")
        with np.errstate(divide="ignore"):
            return np.asarray(-np.log(self.variances_after(combination) / now))


def ranked(gains: Array, costs: Array | None = None) -> list[int]:
    """Return the numbers of the candidates, the most telling first, per cost if there are costs.

    Those that tell nothing are left out.
    """
    worth = gains if costs is None else gains / costs
    order = np.argsort(-worth, kind="stable")
    return [int(k) for k in order if gains[k] > NEAR]


def shares(rows: Array) -> Array:
    """Return the share of measurements (c,) to be made at each of `rows` (c, d): D-optimal.

    Vertex exchange (Böhning, 1986, from memory): the most telling row and each row of the design in
    turn share their weights so that the determinant is largest. It ends where the equivalence
    theorem holds within NEAR: the determinant's d-th root is then that near to the largest.
    Raises ValueError where the rows don't tell all parameters, SolverError unless it ends.
    """
    from scipy.linalg import qr  # noqa: PLC0415 - heavy: only where it is asked

    d = rows.shape[1]
    if np.linalg.matrix_rank(rows) < d:
        raise ValueError("no measurements at these rows tell all parameters")
    weights = np.zeros(len(rows))
    weights[qr(rows.T, mode="r", pivoting=True)[1][:d]] = 1.0 / d
    for _ in range(ROUNDS):
        inverse = np.linalg.inv((rows.T * weights) @ rows)
        telling = np.einsum("ci,ij,cj->c", rows, inverse, rows)
        most = int(telling.argmax())
        if telling[most] <= d * (1.0 + NEAR):
            return weights
        for other in np.flatnonzero(weights).tolist():
            ends = rows[[most, other]]
            (own, both), (_, others) = ends @ np.linalg.inv((rows.T * weights) @ rows) @ ends.T
            bend = 2.0 * (own * others - both**2)
            if other != most and bend > 0.0:
                moved = np.clip((own - others) / bend, -weights[most], weights[other])
                weights[[most, other]] += moved, -moved
    raise SolverError("no best design was found")
