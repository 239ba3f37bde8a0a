"""The low RGs and differentials that one weight class can reach, exactly.

For a weight class with all its parts on the pin axis, while that axis has the low RG. The class
weight is met, every limit kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from optimizer.limits import IntermediateDifferential, Measures
from optimizer.linear.maps import LinearMap
from optimizer.linear.targets import Span, Target
from optimizer.lineup.margins import margins
from optimizer.studies.bands import Band, Line, Makers, box, joined, shared
from optimizer.studies.claims import Claim
from optimizer.studies.halfspaces import HalfSpace, sides
from optimizer.studies.polytope import Polytope, Rows, polytope
from optimizer.studies.slices import Chain, Mix, Slices, chain, with_levels
from shared.arrays import Array, frozen
from shared.errors import SolverError

OFF_PIN = "low-RG axis leaves the pin"
"""What makes an edge where the pin axis has the low RG no longer: there the differential is 0."""
ALIKE = "RGs on the equator alike"
"""What makes an edge where the high-RG axis changes places with the intermediate one."""
NOWHERE = "nothing"
MEASURED = 1e-7
"""cm. A point of an outline is the measure of its ball to this."""
UNIT = 0.0025
"""cm (about 0.001 in). Stands for a target's tolerance where none is declared: rows are in it."""
ACTIVE = 1e-6
"""Tolerances from a limit below which a ball lies on it."""


@dataclass(frozen=True, eq=False)
class Reach:
    """What is reachable: bands (cm), whether that is all of it, and how far lines may be off (cm).

    `proven` is False where the bands were found by search: every corner of theirs is a ball, but
    there may be more. Where it isn't `known`, the search lost its way and there are no bands.
    """

    bands: tuple[Band, ...]
    error: float
    proven: bool = True
    known: bool = True

    @property
    def area(self) -> float:
        """Area, cm², counted twice where bands lie over each other."""
        return sum(band.area for band in self.bands)

    @property
    def size(self) -> tuple[float, float]:
        """Area, cm², and the extent in low RG, cm, which counts where there is no area."""
        return self.area, float(sum(band.rg[-1] - band.rg[0] for band in self.bands))

    @property
    def empty(self) -> bool:
        """Whether nothing is reachable."""
        return not self.bands

    def holds(self, rg: float, differential: float) -> bool:
        """Whether a point (cm) is reachable, as far as the lines are exact."""
        return any(band.holds(rg, differential, self.error) for band in self.bands)


def opened(one: LinearMap) -> LinearMap:
    """Return the weight class with low RG and differential free, whatever its target."""
    asked = one.target
    tolerances = (
        (UNIT, UNIT) if asked is None else (asked.rg_tolerance, asked.differential_tolerance)
    )
    free = Span(0.05 * one.radius, one.radius), Span(0.0, one.radius)
    return replace(one, target=Target(*free, None, *tolerances, None))


def reach(one: LinearMap, limits: Sequence[Measures]) -> Reach | None:
    """Return what an `opened` weight class can reach, or None where it can't be told exactly.

    That is: a part off the pin axis, a limit on the intermediate differential of a core that has
    one, too many densities to enumerate, or, about the CG, a core that could lose its low-RG axis
    to only one of two axes on the equator.
    """
    if not flat(one, limits):
        return None
    bands, error, rules = [], 0.0, rules_box(one, limits)
    levels = float(rules.low.value[0]), float(rules.high.value[0])
    for branch in branches(one, limits):
        slices = branch.slices()
        if slices is None:
            return None
        if len(slices.corners):
            found = chain(slices.knots, slices.ends)
            error = max(error, found.error)
            bands.append(branch.band(with_levels(found, slices.ends, levels)))
    whole = joined(bands, max(2 * error, 1e-7))
    return Reach(tuple(piece for band in whole for piece in shared(band, rules)), error)


def flat(one: LinearMap, limits: Sequence[Measures]) -> bool:
    """Whether a weight class with the pin axis low is kept in by half-spaces alone.

    All its parts sit on the pin axis, and no limit speaks of an intermediate differential that it
    can have.
    """
    curved = any(isinstance(limit, IntermediateDifferential) for limit in limits)
    return one.symmetric or (one.aligned and not curved)


def rules_box(one: LinearMap, limits: Sequence[Measures]) -> Band:
    """Return where the rulebook lets an `opened` weight class be, and its differential is not < 0.

    A rule that is not worded for this class, or not asked for, holds nothing.
    """
    ends = {"rg min": 0.0, "rg max": one.radius, "differential min": 0.0}
    ends["differential max"] = one.radius
    by = {name: Claim(NOWHERE, weight=one.label) for name in ends}
    by["differential min"] = Claim(OFF_PIN, weight=one.label)
    x = np.array([(pour.low + pour.high) / 2 for pour in one.pours])
    for m in margins(one.ball(x), limits):
        figure = m.limit.partition(" ")[2]
        if m.quantity == "rg" and not m.rule_only and figure in ends:
            ends[figure], by[figure] = m.bound, Claim(m.limit, m.part, m.weight)
    low, high, least, most = ends.values()
    return box((low, high), (least, most), list(by.values()))


@dataclass(frozen=True, eq=False)
class Branch:
    """One convex set of balls: half-spaces, and the axis of the high RG (0 x, 1 y)."""

    map: LinearMap
    half: list[HalfSpace]
    high: int

    @property
    def inertia(self) -> Array:
        """Moments of inertia (3, n) about x, y and z through the ball's centre, per density."""
        squares = np.diagonal(self.map.moments, axis1=1, axis2=2)[:, :3].T
        return np.asarray(np.sum(squares, axis=0) - squares)

    def slices(self) -> Slices | None:
        """Return the slices, without corners where there is no ball; None where not exact."""
        free = np.array([not pour.fixed for pour in self.map.pours])
        given = np.array([pour.low for pour in self.map.pours])
        found = self._polytope(free, np.where(free, 0.0, given))
        if found is None:
            return None
        corners = np.tile(given, (len(found.corners), 1))
        corners[:, free] = found.corners
        mass, inertia = self.map.mass, self.inertia
        about_cg = self.map.about == "cg"
        c = corners @ self.map.moments[:, 2, 3] / mass if about_cg else np.zeros(len(corners))
        u, w = corners @ inertia[2] / mass, corners @ inertia[self.high] / mass
        if about_cg and not self.map.symmetric:
            other = corners @ inertia[1 - self.high] / mass - c * c
            if np.any(other < u):
                return None
        return Slices.of(found, corners, u, c, w)

    def _polytope(self, free: np.ndarray, given: Array) -> Polytope | None:
        """Return the polytope of the free densities, the others as given."""
        volumes, total = self.map.volumes, self.map.mass
        total -= float(volumes @ given)
        n = int(np.sum(free))
        if n == 0:
            met = abs(total) <= 1e-9 * self.map.mass
            return Polytope(np.zeros((int(met), 0)), np.zeros((int(met), 0), dtype=bool))
        low, high = (np.array([getattr(p, e) for p in self.map.pours]) for e in ("low", "high"))
        slope = np.array([h.slope for h in self.half])
        bound = np.array([h.bound for h in self.half]) - slope @ given
        rows = Rows(slope[:, free], bound)
        return polytope(low[free], high[free], volumes[free], total, rows)

    def band(self, found: Chain) -> Band:
        """Return the band of a chain, every point of it measured, every piece with its makers."""
        rg = np.sqrt(found.u)
        lines = []
        for side in (found.low, found.high):
            for u, mix in zip(found.u.tolist(), side, strict=True):
                self._measure(u, mix)
            value = np.sqrt([max(mix.square, 0.0) for mix in side]) - rg
            makers = tuple(self._makers(a, b, [0, 2]) for a, b in pairwise(side))
            lines.append(Line(frozen(value), makers))
        ends = [self._makers(found.low[k], found.high[k], [0]) for k in (0, -1)]
        return Band(frozen(rg), lines[0], lines[1], (ends[0], ends[1]))

    def _measure(self, u: float, mix: Mix) -> None:
        """Raise SolverError where the ball at these densities does not measure what is claimed."""
        if mix.square < u:
            return  # the pin axis is not its low-RG axis: it is cut off
        ball = self.map.ball(mix.densities)
        wrong = max(
            abs(ball.radii.low - np.sqrt(u)),
            abs(ball.radii.high - np.sqrt(mix.square)),
            abs(ball.properties.mass / self.map.mass - 1.0),
        )
        if wrong > MEASURED:
            raise SolverError(f"{self.map.label}: a point of the window measures {wrong:.2g} off")

    def _makers(self, a: Mix, b: Mix, figures: Sequence[int]) -> Makers:
        """Return the limits on which the ball between two lies, the most telling first.

        Each is ranked by how much farther the edge would be with one tolerance more. `figures` are
        the RGs (0 low, 2 high) that matter on the edge: the last one is the figure that is moved.
        """
        x = (a.densities + b.densities) / 2
        active = [h for h in self.half if float(h.slope @ x) - h.bound <= ACTIVE]
        if not active:
            return ()
        ball = self.map.ball(x)
        gradients = [ball.radius_gradient(k) for k in figures]
        free = np.array([not pour.fixed for pour in self.map.pours])
        rows = [self.map.volumes, *gradients[:-1], *(h.slope for h in active)]
        matrix = np.array([row[free] for row in rows]).T
        size = np.linalg.norm(matrix, axis=0)
        size[size == 0.0] = 1.0
        share = np.linalg.lstsq(matrix / size, gradients[-1][free], rcond=1e-9)[0] / size
        gain = np.abs(share[-len(active) :])
        order = np.argsort(-gain, kind="stable")
        return tuple(active[i].claim for i in order if gain[i] > 1e-6 * float(np.max(gain)))


def branches(one: LinearMap, limits: Sequence[Measures]) -> Iterator[Branch]:
    """Yield the convex sets of balls whose pin axis has the low RG, as far as that is linear.

    About the CG it isn't: there it is left to be cut off afterwards.
    """
    for half in sides(one, limits):
        for high in (0,) if one.symmetric else (0, 1):
            inertia = Branch(one, half, high).inertia / (one.mass * one.radius**2)
            rows = []
            if not one.symmetric:
                alike = Claim(ALIKE, weight=one.label)
                rows.append(HalfSpace(alike, inertia[high] - inertia[1 - high], 0.0))
            if one.about == "centre":
                on_pin = inertia[1 - high] - inertia[2]
                rows.append(HalfSpace(Claim(OFF_PIN, weight=one.label), on_pin, 0.0))
            yield Branch(one, [*half, *rows], high)
