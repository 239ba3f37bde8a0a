"""The convex sets of balls of one weight class, its parts on the pin axis, and what each reaches.

x, y and z are the principal axes. Each order of their RGs makes a set, and so does each side of the
centre that the CG may be on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from itertools import pairwise, permutations, product
from typing import TypeAlias

import numpy as np

from geometry.mass_properties import radii_of
from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.claims import Kind, Other
from optimizer.lineup.proof.boxes import Axes
from optimizer.questions.window.exact.bands import Band, shared_all
from optimizer.questions.window.exact.bands_between import bands_between
from optimizer.questions.window.exact.chains import Chain, Point, chain, with_levels
from optimizer.questions.window.exact.halfspaces import HalfSpace, corners_of, sides
from optimizer.questions.window.exact.makers import Makers, Named
from optimizer.questions.window.exact.plane_boxes import boxes
from optimizer.questions.window.exact.polytope_slices import (
    PIN_BETWEEN,
    PIN_HIGH,
    PIN_LOW,
    Mix,
    Plane,
    Slices,
)
from shared.arrays import Array
from shared.errors import SolverError

PIN = 2
"""The pin axis among x, y and z."""
LOW, BETWEEN, HIGH = 0, 1, 2
"""The pin axis's place among the axes sorted by RG."""
Pins: TypeAlias = tuple[int, ...]
EVERY: Pins = (LOW, BETWEEN, HIGH)
MEASURED = 1e-7
"""cm. How closely a ball must measure as its point of the outline."""
ACTIVE = 1e-6
"""Tolerances: a ball nearer to a limit than this lies on it."""


@dataclass(frozen=True, eq=False)
class Branch:
    """One convex set of balls, bounded by half-spaces: about the CG these are only necessary.

    `box` is where the rulebook, and an intermediate differential, let it be in the plane. With a
    point to go `through`, only what it reaches at that RG or that differential is asked.
    """

    map: LinearMap
    half: list[HalfSpace]
    axes: Axes
    box: Band
    through: Point | None = None

    @property
    def pin(self) -> int:
        """The pin axis's place: LOW, BETWEEN or HIGH."""
        return self.axes.index(PIN)

    @property
    def about_cg(self) -> bool:
        """Whether RGs are about the CG."""
        return self.map.about == "cg"

    @cached_property
    def height(self) -> Array:
        """The CG's height (n,), cm per density; zeros where RGs are about the centre."""
        return self.map.moments[:, 2, 3] / self.map.mass * float(self.about_cg)

    @cached_property
    def inertia(self) -> Array:
        """Moments of inertia (3, n) about x, y and z through the ball's centre, per density."""
        return _inertia(self.map)

    def lifted(self, axis: int) -> bool:
        """Whether an axis's RG² depends on the CG's height: about the CG, across the pin."""
        return self.about_cg and axis != PIN

    @property
    def plane(self) -> Plane:
        """What is held in a slice and what is sought."""
        return (PIN_LOW, PIN_BETWEEN, PIN_HIGH)[self.pin] if self.about_cg else PIN_LOW

    @cached_property
    def figures(self) -> tuple[Array, Array]:
        """What is held in a slice, s, and what is sought about the centre, w (n,), per density."""
        low, _, high = self.inertia[list(self.axes)] / self.map.mass
        by_plane = {PIN_LOW: (low, high), PIN_BETWEEN: (high - low, low), PIN_HIGH: (high, low)}
        return by_plane[self.plane]

    @cached_property
    def reached(self) -> tuple[tuple[Band, ...], float] | None:
        """Its bands and the error of their lines (cm); None where not exact."""
        slices = self.slices()
        if slices is None:
            return None
        if not len(slices.corners):
            return (), 0.0
        curve = chain(slices.knots, slices.ends, plane=self.plane, through=self.through)
        if not len(curve.s):
            return (), 0.0
        levels = float(self.box.low.value[0]), float(self.box.high.value[0])
        bands = self._bands(with_levels(curve, slices.ends, levels))
        return shared_all([bands, (self.box,)]), curve.error

    def slices(self) -> Slices | None:
        """Return the slices, without corners where there is no ball; None where not exact."""
        enumerated = corners_of(self.map, self.half)
        if enumerated is None:
            return None
        corners, edges = enumerated
        c = corners @ self.height
        if not self._whole(corners, c):
            return None
        s, w = (corners @ figure for figure in self.figures)
        return Slices(corners, s, c, w, edges)

    def _whole(self, corners: Array, c: Array) -> bool:
        """Whether the axes keep their places throughout the polytope, or are cut off where not.

        An RG² across the pin, about the CG, is concave in the densities: it is at least another,
        linear one if that holds at the corners, and at most that one if it holds without the c².
        """
        if not self.about_cg or self.map.symmetric:
            return True
        w = corners @ (self.inertia / self.map.mass).T
        return all(
            PIN not in (a, b) or bool(np.all(w[:, b] - w[:, a] >= c * c * float(a == PIN)))
            for a, b in pairwise(self.axes)
        )

    def _bands(self, curve: Chain) -> list[Band]:
        """Return the bands of a chain, every point of it measured, every piece with its makers."""
        for side in (curve.low, curve.high):
            self._measure(curve.s, side)
        key, _ = self.figures
        low, high = (
            [Named(partial(self._makers, a, b, held=[key])) for a, b in pairwise(side)]
            for side in (curve.low, curve.high)
        )
        first, last = (
            Named(partial(self._makers, curve.low[k], curve.high[k], held=[])) for k in (0, -1)
        )
        return bands_between(curve.lines, (low, high), (first, last))

    def _measure(self, s: Array, side: Sequence[Mix]) -> None:
        """Raise SolverError if balls at these densities don't measure as claimed."""
        squares = np.column_stack([s, [mix.square for mix in side]]) @ self.plane.squares.T
        J = np.tensordot([mix.densities for mix in side], self.map.moments, axes=1)
        off = radii_of(J, self.map.about)[:, [0, 2]] - np.sqrt(np.maximum(squares, 0.0))
        off = np.column_stack([off, J[:, 3, 3] / self.map.mass - 1.0])
        kept = squares[:, 0] <= squares[:, 1]  # else its axes have changed places: it is cut off
        wrong = float(np.max(np.abs(off[kept]), initial=0.0))
        if wrong > MEASURED:
            raise SolverError(f"{self.map.label}: a point of the window measures {wrong:.2g} off")

    @cached_property
    def _sides(self) -> tuple[Array, Array]:
        """The slopes (m, n) and the bounds (m,) of the half-spaces."""
        slopes = np.array([h.slope for h in self.half]).reshape(-1, len(self.map.pours))
        return slopes, np.array([h.bound for h in self.half])

    def _makers(self, a: Mix, b: Mix, held: Sequence[Array]) -> Makers:
        """Return the limits that hold the ball between two, the most effective first.

        They are ranked by how far the edge moves with one tolerance more. On a line the key is
        `held` and the sought figure moves; at its ends the key moves.
        """
        x = (a.densities + b.densities) / 2
        slopes, bounds = self._sides
        active = [self.half[i] for i in np.flatnonzero(slopes @ x - bounds <= ACTIVE)]
        if not active:
            return ()
        key, sought = self.figures
        moved = sought - 2.0 * float(self.height @ x) * self.height if held else key
        free = np.array([not pour.fixed for pour in self.map.pours])
        rows = [self.map.volumes, *held, *(h.slope for h in active)]
        matrix = np.array([row[free] for row in rows]).T
        size = np.linalg.norm(matrix, axis=0)
        size[size == 0.0] = 1.0
        share = np.linalg.lstsq(matrix / size, moved[free], rcond=1e-9)[0] / size
        gain = np.abs(share[-len(active) :])
        order = np.argsort(-gain, kind="stable")
        claims = (active[i].claim for i in order if gain[i] > 1e-6 * float(np.max(gain)))
        return tuple(dict.fromkeys(claims))


def branches(linear_map: LinearMap, through: Point | None = None) -> Iterator[Branch]:
    """Yield the convex sets of balls of an `opened` weight class, first with the pin axis low.

    Of each only what lies at the RG or the differential of the point they go `through`, if one is
    given. About the CG the axes' places aren't linear: there the rows are necessary conditions
    only.
    """
    inertia = _inertia(linear_map) / (linear_map.mass * linear_map.radius**2)
    farthest = ((half, _farthest_cg(linear_map, half)) for half in sides(linear_map))
    halves = [(half, most / linear_map.radius) for half, most in farthest if most is not None]
    for axes in _orders(linear_map):
        for where, (half, most) in product(boxes(linear_map, pin_high=axes[2] == PIN), halves):
            rows = []
            for a, b in [(axes[0], axes[2])] if linear_map.symmetric else pairwise(axes):
                less = most**2 * float(linear_map.about == "cg" and b == PIN)
                apart = inertia[b] - inertia[a]
                rows.append(HalfSpace(Other(Kind.ALIKE, weight=linear_map.label), apart, -less))
            yield Branch(linear_map, [*half, *rows], axes, where, through)


def _orders(linear_map: LinearMap) -> list[Axes]:
    """Return the possible orders of the axes by RG; a symmetric core's x and y are alike.

    That core has no intermediate differential with the pin axis low.
    """
    if not linear_map.symmetric:
        return sorted(permutations((0, 1, 2)), key=lambda axes: axes.index(PIN))  # type: ignore[arg-type]
    inner = linear_map.target.get(INTERMEDIATE_DIFFERENTIAL)
    return [(0, 1, PIN)] if inner and inner.low > 0.0 else [(PIN, 1, 0), (0, 1, PIN)]


def _inertia(linear_map: LinearMap) -> Array:
    squares = np.diagonal(linear_map.moments, axis1=1, axis2=2)[:, :3].T
    return np.asarray(np.sum(squares, axis=0) - squares)


def _farthest_cg(linear_map: LinearMap, half: Sequence[HalfSpace]) -> float | None:
    """Return an upper bound on the distance of the CG from the centre, cm; None without a ball."""
    enumerated = corners_of(linear_map, half)
    if enumerated is None:
        return linear_map.radius
    heights = np.abs(enumerated[0] @ linear_map.moments[:, 2, 3]) / linear_map.mass
    return float(np.max(heights)) if len(heights) else None
