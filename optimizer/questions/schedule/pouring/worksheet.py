"""The pour of one weight class as a worksheet, computed from its own printed figures.

So a pocket calculator or a spreadsheet that starts from the printed figures gives the printed
result. Volumes, centres of gravity and own moments are the exact ones, rounded once; everything
else is computed from the rounded figures.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Final

import numpy as np

from geometry.moments import Moments
from geometry.nesting import casting_order
from optimizer.ball.sought import Pour
from optimizer.ball.weight_class import Ball
from shared.arrays import Array
from shared.rounding import rounded
from shared.units import INCH, OUNCE

DIGITS: Final = {
    "volume": 3,  # cm³
    "density": 4,  # g/cm³
    "mass": 2,  # g
    "ounces": 3,  # oz
    "cg": 4,  # cm
    "inertia": 1,  # g cm²
    "rg": 5,  # cm and in
    "differential": 4,  # in
}
"""Decimals of each kind of figure on the sheet."""

MIXED: Final = 6
"""Decimals of a density from grams as weighed: a ball's mass is off by 0.003 g at most."""

AXES: Final = ((0, 0), (1, 1), (2, 2))
PRODUCTS: Final = ((0, 1), (0, 2), (1, 2))

Three = tuple[Decimal, ...]
"""Figures of x, y and z, or of the low, intermediate and high axis."""
Six = tuple[Decimal, ...]
"""Ix, Iy, Iz and the products Ixy, Ixz, Iyz (∫ xy dm and so on), g cm²."""


@dataclass(frozen=True, eq=False)
class RegionSheet:
    """One pour, and its `own` Ix, Iy, Iz, Ixy, Ixz, Iyz about its CG; in cm, g and g cm²."""

    part: str
    pour: Pour
    volume: Decimal
    density: Decimal
    mass: Decimal
    running: Decimal
    cg: Three
    own: Six

    @property
    def ounces(self) -> Decimal:
        """The mass in avoirdupois ounces."""
        return rounded(self.mass / Decimal(repr(OUNCE)), DIGITS["ounces"])

    def parallel(self, point: Three) -> Six:
        """Return the parallel-axis terms m·d² (and m·x·y …) about `point`, g cm²."""
        x, y, z = (a - b for a, b in zip(self.cg, point, strict=True))
        terms = (y * y + z * z, x * x + z * z, x * x + y * y, x * y, x * z, y * z)
        return tuple(rounded(self.mass * term, DIGITS["inertia"]) for term in terms)


@dataclass(frozen=True, eq=False)
class Radii:
    """The sums about one point, g cm², and the RGs from them, in cm, all as printed."""

    sums: Six
    along: Three
    principal: Three

    @property
    def inches(self) -> Three:
        """The principal RGs in inches, low to high."""
        inch = Decimal(repr(INCH))
        return tuple(rounded(radius / inch, DIGITS["rg"]) for radius in self.principal)

    @property
    def differential(self) -> Decimal:
        """High − low, in."""
        return rounded(self.inches[2] - self.inches[0], DIGITS["differential"])

    @property
    def intermediate_differential(self) -> Decimal:
        """High − intermediate, in."""
        return rounded(self.inches[2] - self.inches[1], DIGITS["differential"])


@dataclass(frozen=True, eq=False)
class Worksheet:
    """The pours in casting order, and sums; `aligned`: x, y, z are the principal axes."""

    ball: Ball
    regions: tuple[RegionSheet, ...]
    aligned: bool

    @property
    def label(self) -> str:
        """The label of the weight class."""
        return self.ball.map.label

    @property
    def pours(self) -> tuple[Pour, ...]:
        """The pours, in casting order."""
        return tuple(region.pour for region in self.regions)

    @property
    def mass(self) -> Decimal:
        """Sum of the printed masses, g."""
        return self.regions[-1].running

    @property
    def asked(self) -> Decimal:
        """The class weight, g."""
        return rounded(self.ball.map.mass, DIGITS["mass"])

    @cached_property
    def cg(self) -> Three:
        """The ball's CG, Σ m·x ÷ Σ m, cm."""
        sums = (sum((r.mass * r.cg[k] for r in self.regions), Decimal(0)) for k in range(3))
        return tuple(rounded(first / self.mass, DIGITS["cg"]) for first in sums)

    def point(self, name: str) -> Three:
        """Return the place of "centre" or, as printed, of "cg", cm."""
        return self.cg if name == "cg" else (Decimal(0),) * 3

    def about(self, name: str) -> Radii:
        """Return the sums and radii about "centre" or "cg"."""
        point = self.point(name)
        terms = [(region.own, region.parallel(point)) for region in self.regions]
        sums = tuple(sum((own[k] + far[k] for own, far in terms), Decimal(0)) for k in range(6))
        along = tuple(map(self._radius, sums[:3]))
        principal = sorted(along) if self.aligned else map(self._radius, _principal(sums))
        return Radii(sums, along, tuple(principal))

    def _radius(self, inertia: Decimal) -> Decimal:
        return rounded((inertia / self.mass).sqrt(), DIGITS["rg"])


def worksheet(ball: Ball, decimals: int = DIGITS["density"]) -> Worksheet:
    """Return the worksheet of `ball`, innermost first; densities (g/cm³) to `decimals`."""
    running, rows = Decimal(0), []
    for part in casting_order(ball.map.parts):
        i = ball.map.places[part.name]
        volume = rounded(float(ball.map.volumes[i]), DIGITS["volume"])
        density = rounded(float(ball.densities[i]), decimals)
        mass = rounded(volume * density, DIGITS["mass"])
        running += mass
        moments = Moments(ball.map.moments[i]) * float(ball.densities[i])
        cg, own = _own(moments)
        rows.append(
            RegionSheet(part.name, ball.map.pours[i], volume, density, mass, running, cg, own)
        )
    return Worksheet(ball, tuple(rows), ball.map.aligned)


def _own(moments: Moments) -> tuple[Three, Six]:
    """Return a region's CG and its six moments about it, as printed."""
    cg = tuple(rounded(float(c), DIGITS["cg"]) for c in moments.centroid)
    about = moments.about(moments.centroid)
    # the tensor has the products with a minus sign; a sheet states ∫ xy dm
    six = [float(about.inertia[i, j]) for i, j in AXES]
    six += [float(about.J[i, j]) for i, j in PRODUCTS]
    return cg, tuple(rounded(value, DIGITS["inertia"]) for value in six)


def _principal(sums: Six) -> tuple[Decimal, ...]:
    """Return the principal moments, least first, of the tensor of the six sums."""
    tensor: Array = np.zeros((3, 3))
    for (i, j), value in zip((*AXES, *PRODUCTS), sums, strict=True):
        tensor[i, j] = tensor[j, i] = float(value) if i == j else -float(value)
    return tuple(Decimal(repr(float(value))) for value in np.linalg.eigvalsh(tensor))
