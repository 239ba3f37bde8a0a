"""The limits of one weight class as half-spaces of densities, its parts all on the pin axis.

Each limit is linear as long as the CG stays on one side of the centre. Its half-space comes from
the margin of a ball on that side, so limits are stated in one place only.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.claims import Claim, Kind, Other
from optimizer.questions.window.exact.polytope import Cuts, polytope
from shared.arrays import Array

DEFAULT_TOLERANCE = 0.01
"""g/cm³ or oz. Ranks limits without a declared tolerance."""


@dataclass(frozen=True, eq=False)
class HalfSpace:
    """slope (n,) · ρ ≥ bound over the densities of a weight class, in units of `tolerance`."""

    claim: Claim
    slope: Array
    bound: float


def sides(linear_map: LinearMap) -> list[list[HalfSpace]]:
    """Return the half-spaces for the CG on the pin's side, then beyond the centre.

    One list for both where no limit depends on the CG's side.
    """
    references = _references(linear_map)
    held = {way: list(_held(linear_map, x)) for way, x in references.items()}
    by_side = {way: _half_spaces(held[way], x) for way, x in references.items()}
    if len(by_side) < 2 or all(_covered(by_side[-way], held[way], references[way]) for way in held):
        merged = {(*h.slope.tolist(), h.bound): h for rows in by_side.values() for h in rows}
        return [list(merged.values())]
    first = linear_map.moments[:, 2, 3]
    size = float(np.max(np.abs(first)))
    halves = []
    for way, rows in by_side.items():
        away = HalfSpace(Other(Kind.CENTRED, weight=linear_map.label), way * first / size, 0.0)
        halves.append([*rows, away])
    return halves


def _references(linear_map: LinearMap) -> dict[float, Array]:
    """Return densities with the CG toward the pin (1) and away from it (-1), where possible.

    Where the CG is at the centre at any densities, one ball stands for all (0).
    """
    low, high = density_ends(linear_map)
    first = linear_map.moments[:, 2, 3]
    least = 1e-12 * linear_map.radius * float(linear_map.volumes @ high)
    farthest = {way: np.where(way * first > 0.0, high, low) for way in (1.0, -1.0)}
    off_centre = {way: x for way, x in farthest.items() if way * float(first @ x) > least}
    return off_centre or {0.0: (low + high) / 2}


def _half_spaces(held: Sequence[Margin], x: Array) -> list[HalfSpace]:
    rows = []
    for m in held:
        if m.gradient is None:
            continue
        unit, slope = m.tolerance or DEFAULT_TOLERANCE, m.gradient
        rows.append(HalfSpace(m.bound, slope / unit, (float(slope @ x) - m.slack) / unit))
    return rows


def _held(linear_map: LinearMap, x: Array) -> Iterator[Margin]:
    """Yield the margins of the ball at `x` that the solver must keep, except those on RGs."""
    ball = linear_map.ball(x)
    for bound in linear_map.bounds:
        if bound.held(linear_map) and bound.figure.quantity != "rg":
            yield from bound.margins(ball)


def _covered(rows: Sequence[HalfSpace], held: Sequence[Margin], x: Array) -> bool:
    """Whether rows made on the other side understate no margin `held` by the ball at `x`."""
    for row, m in zip(rows, held, strict=True):
        value = (float(row.slope @ x) - row.bound) * (m.tolerance or DEFAULT_TOLERANCE)
        if value < m.slack - 1e-9 * max(abs(m.slack), 1.0):
            return False
    return True


def corners_of(linear_map: LinearMap, half: Sequence[HalfSpace]) -> tuple[Array, np.ndarray] | None:
    """Return all corners (k, n) of the class weight within half-spaces, and the edges (e, 2).

    None where there are too many.
    """
    low, high = density_ends(linear_map)
    free = low != high
    given = np.where(free, 0.0, low)
    total = linear_map.mass - float(linear_map.volumes @ given)
    slope = np.array([h.slope for h in half]).reshape(-1, len(free))
    bound = np.array([h.bound for h in half]) - slope @ given
    if not np.any(free):
        met = abs(total) <= 1e-9 * linear_map.mass and np.all(bound <= 1e-9 * np.abs(slope) @ given)
        return np.tile(given, (int(met), 1)), np.zeros((0, 2), dtype=np.intp)
    cuts = Cuts(slope[:, free], bound)
    whole = polytope(low[free], high[free], linear_map.volumes[free], total, cuts)
    if whole is None:
        return None
    corners = np.tile(given, (len(whole.corners), 1))
    corners[:, free] = whole.corners
    return corners, whole.edges


def density_ends(linear_map: LinearMap) -> tuple[Array, Array]:
    """Return the least and the greatest density of each part (n,)."""
    low, high = np.array([(pour.low, pour.high) for pour in linear_map.pours]).T
    return low, high
