"""Straight and circular edges of an outline, as arrays: a straight edge is an arc of angle 0.

Points of the plane are complex numbers here, x + iy. At t, between 0 and 1, an edge has turned by
tθ, counter-clockwise positive; seen from its start, that point lies (1 − t)θ/2 to the right of the
chord, |chord| sin(tθ/2)/sin(θ/2) away (an angle at the circumference is half that at the centre:
Euclid, Elements III.20). This needs no centre, so an almost straight arc loses no precision.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property
from math import lgamma, log
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from geometry.rows import Aligned
from shared.arrays import Array, Index, Mask, frozen

Complex: TypeAlias = npt.NDArray[np.complex128]

STRAIGHT = 1e-100
"""Smaller bulges count as 0: their numbers would underflow."""


@dataclass(frozen=True, eq=False)
class Edges(Aligned):
    """A run of edges: `start` (n,) and `end` (n,) complex, `angle` (n,) in radians."""

    start: Complex
    end: Complex
    angle: Array

    @classmethod
    def closed(cls, vertices: Array) -> Edges:
        """Return the edges of the closed outline of `vertices` (n, 3): x, y, bulge."""
        start = vertices[:, 0] + 1j * vertices[:, 1]
        bulge = np.where(np.abs(vertices[:, 2]) < STRAIGHT, 0.0, vertices[:, 2])
        return cls(start=start, end=np.roll(start, -1), angle=4 * np.arctan(bulge))

    def split(self, which: Index, at: Array) -> Edges:
        """Return the edges in order, those of `which` (k,) cut at t = `at` (k,)."""
        owner = np.concatenate([np.arange(len(self)), which])
        begin = np.concatenate([np.zeros(len(self)), at])
        order = np.lexsort((begin, owner))
        owner, begin = owner[order], begin[order]
        until = np.where(np.roll(owner, -1) == owner, np.roll(begin, -1), 1.0)
        own = self[owner]
        start = np.where(begin == 0.0, own.start, own.points(begin))
        end = np.where(until == 1.0, own.end, own.points(until))
        return Edges(start, end, own.angle * (until - begin))

    def rates(self, vertices: Array, rates: Array) -> Edges:
        """Return the derivatives of start, end and angle as `vertices` (n, 3) change at `rates`."""
        start = rates[:, 0] + 1j * rates[:, 1]
        angle = 4 * rates[:, 2] / (1 + vertices[:, 2] ** 2)
        return Edges(start=start, end=np.roll(start, -1), angle=angle)

    @property
    def vertices(self) -> Array:
        """The start of each edge and its bulge (n, 3): x, y, bulge."""
        return np.stack([self.start.real, self.start.imag, np.tan(self.angle / 4)], axis=1)

    @cached_property
    def chord(self) -> Complex:
        """From the start to the end of each edge (n,)."""
        return self.end - self.start

    @cached_property
    def unturned(self) -> Complex:
        """The chord (n,), scaled to the length of the edge."""
        return np.asarray(self.chord / np.sinc(self.angle / (2 * np.pi)))

    @cached_property
    def _facing(self) -> tuple[Mask, Complex, Array]:
        """Which edges are curved, their outward direction at t = ½, and t per radian from there."""
        curved = self.angle != 0
        facing = -1j * np.where(curved, np.sign(self.angle) * self.chord, 1j)
        return curved, facing, np.where(curved, 1 / np.where(curved, self.angle, 1.0), 0.0)

    @property
    def length(self) -> Array:
        """The length along each edge (n,): |chord| (θ/2)/sin(θ/2)."""
        return np.abs(self.unturned)

    def points(self, t: Array) -> Complex:
        """Return the points at `t`, between 0 and 1, of shape (…, n) or broadcastable to it."""
        along = t * np.sinc(t * self.angle / (2 * np.pi))
        return np.asarray(self.start + self.unturned * along * np.exp(-0.5j * (1 - t) * self.angle))

    def tangents(self, t: Array) -> Complex:
        """Return the derivative of `points` by t, whose magnitude is the edge's length."""
        return np.asarray(self.unturned * np.exp(1j * (t - 0.5) * self.angle))

    def velocities(self, t: Array, rates: Edges) -> Complex:
        """Return the velocity of the points at a fixed `t` while the edges change at `rates`.

        A point is (1 − g)·start + g·end with g = (exp(itθ) − 1)/(exp(iθ) − 1).
        """
        curved = self.angle != 0
        whole = np.exp(1j * np.where(curved, self.angle, 1.0))
        part = np.exp(1j * t * np.where(curved, self.angle, 1.0))
        g = np.where(curved, (part - 1) / (whole - 1), t)
        turning = np.where(curved, 1j * (t * part - g * whole) / (whole - 1), 0.5j * t * (t - 1))
        v: Complex = (1 - g) * rates.start + g * rates.end + self.chord * turning * rates.angle
        return v

    def nearest(self, point: Complex) -> Array:
        """Return the t of the point of each edge closest to `point`, (…, n) or broadcastable."""
        # In the chord's frame the edge goes from −½ to ½, and a positive arc lies below. Its centre
        # is ½ cot(θ/2) above the chord; from there, angles are measured from straight down.
        local = (point - self.start) / self.chord - 0.5
        bend = np.abs(self.angle)
        curved = bend > 0
        half = np.where(curved, bend, 1.0) / 2
        below = 0.5 / np.tan(half) - np.sign(self.angle) * local.imag
        t = np.where(curved, np.arctan2(local.real, below) / (2 * half), local.real)
        return np.clip(t + 0.5, 0, 1)

    def farthest(self, direction: Complex) -> Array:
        """Return the t of each arc's point farthest along `direction`; 0 on straight edges."""
        # The outward normal of an arc is a quarter turn from its tangent, which has the chord's
        # direction at t = ½ and turns with t. If it never faces `direction`, an end is farthest.
        curved, facing, rate = self._facing
        t = np.angle(direction / facing) * rate + 0.5
        return np.where(curved, np.minimum(np.maximum(t, 0.0), 1.0), 0.0)

    def nodes(self) -> tuple[Array, Array]:
        """Return t (k, 1) and weights (k, 1) that integrate a moment's integrand along every edge.

        On an arc it is a sum of waves, the shortest of which has five periods in a circle.
        """
        widest = float(np.max(np.abs(self.angle)))
        t, weights = gauss(_enough(int(np.ceil(5 * widest))))
        return t[:, None], weights[:, None]

    def quadrature(self) -> tuple[Complex, Array]:
        """Return nodes (k,) and weights (k,) that integrate over the area of a closed run of edges.

        Exact, up to rounding, for polynomials up to degree 3; for a clockwise run the weights are
        negative. By Green's theorem, the line from a point o near the middle to a point P on the
        run sweeps the area: ∫ f dA = ∮ ∫ f(o + s(P − o)) s ds (P − o) × dP.
        """
        s, over_s = gauss(3)
        t, over_t = self.nodes()
        x, y = self.start.real, self.start.imag
        o = (x.min() + x.max()) / 2 + 0.5j * (y.min() + y.max())
        arms = self.points(t) - o
        swept = (np.conj(arms) * self.tangents(t)).imag * over_t
        nodes = o + s[:, None, None] * arms
        weights = (s * over_s)[:, None, None] * swept
        return nodes.ravel(), weights.ravel()


def coordinates(points: Complex) -> Array:
    """Return complex points (k,) as coordinates (k, 2)."""
    return np.stack([points.real, points.imag], axis=1)


@cache
def _enough(phase: int) -> int:
    """Return how many Gauss nodes integrate a wave e^(i·phase·t) over [0, 1] to within 1e-17.

    The error of n is at most (n!)⁴ phase²ⁿ / ((2n + 1) (2n)!³) (Abramowitz & Stegun 25.4.30; from
    memory).
    """
    n = 3
    while phase and (
        4 * lgamma(n + 1) + 2 * n * log(phase) - log(2 * n + 1) - 3 * lgamma(2 * n + 1)
        > -17 * log(10)
    ):
        n += 1
    return n


@cache
def gauss(count: int) -> tuple[Array, Array]:
    """Return Gauss-Legendre nodes and weights on [0, 1], exact up to degree 2·count − 1."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return frozen((nodes + 1) / 2), frozen(weights / 2)
