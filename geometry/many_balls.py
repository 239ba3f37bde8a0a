"""Mass properties of many balls at once, for chance: quick, and exact to some 1e-9 of an RG.

Moments come as rows (k, 10) of the upper triangle of J; quickest as the transpose of (10, k), so
that each moment of all balls lies in one piece. The principal inertias are those of a symmetric 3×3
matrix by the trigonometric form (Smith, Communications of the ACM 4, 1961), which is guarded for
equal axes; the direction of an axis follows from the eigenvalues of the matrix and of its upper
left 2×2, taken together (Denton, Parke, Tao and Zhang, 2022).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from shared.arrays import Array
from shared.tolerances import AXIS_GAP

UPPER = np.triu_indices(4)
"""The places in J of the ten columns: xx, xy, xz, x, yy, yz, y, zz, z, volume."""
ROOT3 = np.sqrt(3.0)


def rows_of(J: Array) -> Array:
    """Return moments J (…, 4, 4) as rows (…, 10)."""
    return np.asarray(J[..., UPPER[0], UPPER[1]])


@dataclass(frozen=True, eq=False)
class ManyBalls:
    """Balls with mass moments `rows` (k, 10), their RGs about the "cg" or the "centre"."""

    rows: Array
    about: str

    @cached_property
    def mass(self) -> Array:
        """The masses (k,), g."""
        return self.rows[:, 9]

    @cached_property
    def offset(self) -> Array:
        """The CG's distance from the centre (k,), cm."""
        return np.asarray(self.first / self.mass)

    @cached_property
    def first(self) -> Array:
        """The size of the first moment (k,), g cm; ÷ the balance's arm it is the top weight."""
        x, y, z = (self.rows[:, column] for column in (3, 6, 8))
        size = x * x
        size += y * y
        size += z * z
        return np.asarray(np.sqrt(size, out=size))

    @cached_property
    def _second(self) -> tuple[Array, ...]:
        """The second moments ÷ mass about the point: xx, yy, zz, xy, xz, yz (k,), cm²."""
        over = 1.0 / self.mass
        xx, xy, xz, x, yy, yz, y, zz, z = (self.rows[:, column] * over for column in range(9))
        if self.about == "cg":
            xx -= x * x
            yy -= y * y
            zz -= z * z
            xy -= x * y
            xz -= x * z
            yz -= y * z
        return xx, yy, zz, xy, xz, yz

    @cached_property
    def squares(self) -> tuple[Array, Array, Array]:
        """Low, intermediate and high RG squared (k,), cm²: the trace less each second moment.

        With m a third of the trace, the deviations a … f from m E, their size s and determinant,
        and 3θ = arccos(det ÷ 2s³), the second moments are m + 2s cos(θ + 2πk/3). Their cosines
        follow from t = tan(θ/2), which is quicker. Most steps are in place, for speed.
        """
        a, b, c, d, e, f = self._second
        middle = a + b
        middle += c
        middle *= 1.0 / 3.0
        a, b, c = a - middle, b - middle, c - middle
        dd, ee, ff = d * d, e * e, f * f
        size = a * a
        size += b * b
        size += c * c
        size *= 0.5
        size += dd
        size += ee
        size += ff
        size *= 1.0 / 3.0
        np.sqrt(size, out=size)
        t = b * c  # the determinant, by its first row
        t -= ff
        t *= a
        t -= np.multiply(ee, b, out=ee)
        t -= np.multiply(dd, c, out=dd)
        product = np.multiply(d, e, out=dd)
        product *= f
        product *= 2.0
        t += product
        cube = np.maximum(size, 1e-100, out=ee)  # a perfect sphere: all axes are alike
        t /= np.multiply(cube * cube, cube, out=ff)
        t *= 0.5
        np.arccos(np.clip(t, -1.0, 1.0, out=t), out=t)
        t *= 1.0 / 6.0
        np.tan(t, out=t)
        tt = t * t
        size /= tt + 1.0
        cosine = np.subtract(1.0, tt, out=tt)
        cosine *= size
        sine = np.multiply(t, size, out=t)
        sine *= 2.0 * ROOT3
        middle *= 2.0
        low = middle - cosine
        low -= cosine
        middle += cosine
        return low, middle - sine, np.add(middle, sine, out=middle)

    @cached_property
    def radii(self) -> tuple[Array, Array, Array]:
        """Low, intermediate and high RG (k,), cm; 0 where densities below zero leave no ball."""
        low, between, high = (np.sqrt(np.maximum(square, 0.0)) for square in self.squares)
        return low, between, high

    @property
    def exact_radii(self) -> tuple[Array, Array, Array]:
        """Low, intermediate and high RG (k,), cm, to rounding: slower, for few balls.

        NaN where densities below zero leave no ball.
        """
        a, b, c, d, e, f = self._second
        second = np.stack([a, d, e, d, b, f, e, f, c], axis=-1).reshape(-1, 3, 3)
        high, between, low = np.linalg.eigvalsh(second).T
        trace = a + b + c
        with np.errstate(invalid="ignore"):
            return np.sqrt(trace - low), np.sqrt(trace - between), np.sqrt(trace - high)

    @cached_property
    def tilt(self) -> Array:
        """The angle (k,) between the low-RG axis and the pin's, rad; NaN without such an axis."""
        a, b, c, d, *_ = self._second
        low, between, high = self.squares
        far = a + b + c - low  # the second moment along the axis
        over = (far - a) * (far - b) - d * d
        plain = self.radii[1] - self.radii[0] > AXIS_GAP
        gaps = np.where(plain, (low - between) * (low - high), np.nan)
        return np.asarray(np.arccos(np.sqrt(np.clip(over / gaps, 0.0, 1.0))))
