"""Line-ups of nested ellipsoids as plain numbers, random ones too, and as scenario text.

Manufactured: densities are chosen, the oracle measures the ball, and what it measured is asked for.
So each is known to be feasible, whatever a solver says.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from oracles.balls import Ellipsoid, weight_and_radii

INCH, OUNCE, POUND = 2.54, 28.349523125, 453.59237
RADIUS = 8.58 / 2 * INCH
NAMES = ("cover", "mantle", "block", "insert", "plug")
RANGES = ((1.0, 1.3), (0.5, 1.5), (0.8, 2.9), (1.0, 3.6))
Span = tuple[float, float]


@dataclass(frozen=True)
class Line:
    """One mould and what is asked of it: cm, g, g/cm³; imbalances in ounces.

    A target's figure is a span: its ends are the same where it is fixed. `allowed` are the
    tolerances of weight (g), low RG, differential and intermediate differential (cm);
    `offset_allowed` is that of the CG offset (cm).
    """

    solids: tuple[Ellipsoid, ...]
    weights: Mapping[str, float]
    rg: Span
    differential: Span
    intermediate: Span | None = None
    about: str = "cg"
    ranges: Sequence[Span] = RANGES
    spread: Sequence[float] = (0.02, 0.02, 0.02, 0.02)
    allowed: tuple[float, float, float, float] = (30.0, 0.008, 0.0025, 0.0025)
    top: tuple[float | None, float | None] = (None, None)
    same: Mapping[str, str] = field(default_factory=dict)
    limits: str = ""
    offset: Span | None = None
    offset_allowed: float = 0.005

    @property
    def names(self) -> tuple[str, ...]:
        """The parts' names."""
        return NAMES[: len(self.solids)]

    def but(self, **changes: object) -> Line:
        """Return the line with some figures changed."""
        return replace(self, **changes)

    def text(self, order: Sequence[int] | None = None) -> str:
        """Return the scenario, its parts listed in `order`."""
        weight, low, apart, inner = (float(tolerance) for tolerance in self.allowed)
        third = f", intermediate_differential = {10 * inner}" if self.intermediate else ""
        lines = ['name = "m"', 'revision = "A"', "[units]", 'length = "mm"', 'weight = "kg"']
        lines += ['density = "g/cm3"', 'rg = "mm"', "[target]", f'about = "{self.about}"']
        lines += [f"rg = {_span(self.rg)}", f"differential = {_span(self.differential)}"]
        if self.intermediate is not None:
            lines.append(f"intermediate_differential = {_span(self.intermediate)}")
        if self.offset is not None:
            lines.append(f"cg_offset = {_span(self.offset)}")
            third += f", cg_offset = {10 * self.offset_allowed}"
        two = f"rg = {10 * low}, differential = {10 * apart}"
        lines.append(f"tolerance = {{ weight = {weight / 1000}, {two}{third} }}")
        lines += ["[weights]", *(f"{name} = {m / 1000}" for name, m in self.weights.items())]
        ends = [
            f"{k} = {v}" for k, v in zip(("min", "max"), self.top, strict=True) if v is not None
        ]
        lines.append("[limits]")
        if ends:
            lines.append(f"top_weight = {{ {', '.join(ends)}, tolerance = 0.25 }}")
        lines.append(self.limits)
        for name, span, tolerance in zip(self.names, self.ranges, self.spread, strict=False):
            low, high = float(span[0]), float(span[1])
            density = [low, high] if low < high else low
            lines += [f"[materials.{name}]", f"density = {density}", f"tolerance = {tolerance}"]
        for i in order or range(len(self.solids)):
            lines += self._part(i)
        return "\n".join(lines)

    def _part(self, i: int) -> list[str]:
        solid, name = self.solids[i], self.names[i]
        axes = [20.0 * float(a) for a in solid.axes]
        shape = f'{{ kind = "ellipsoid", diameters = {axes} }}'
        if axes[0] == axes[1]:
            shape = f'{{ kind = "spheroid", diameter = {axes[0]}, height = {axes[2]} }}'
        if axes[0] == axes[1] == axes[2]:
            shape = f'{{ kind = "sphere", diameter = {axes[0]} }}'
        lines = ["[[parts]]", f'name = "{name}"', f'material = "{name}"', f"shape = {shape}"]
        if name in self.same:
            lines.append(f"same_density = {self.same[name]}")
        if solid.host is not None:
            lines.append(f'inside = "{self.names[solid.host]}"')
            lines.append(f"at = {[10.0 * float(c) for c in solid.at]}")
            lines.append(f"rotate = {[float(angle) for angle in solid.rotate]}")
        return lines


def _span(span: Span) -> str:
    low, high = 10.0 * float(span[0]), 10.0 * float(span[1])
    return f"{low}" if low == high else f"{{ min = {low}, max = {high} }}"


TILTS = {
    "tilted 15": (15.0, 0.0, 0.0),
    "tilted 80": (80.0, 0.0, 0.0),
    "triaxial": (20.0, 35.0, 10.0),
    "off axis": (10.0, 5.0, 0.0),
}


def solids(random: np.random.Generator, kind: str) -> tuple[Ellipsoid, ...]:
    """A cover, a mantle, a block and an insert, with room between them, sometimes off centre.

    `kind`: "aligned", "round" (the same), "aligned triaxial", or one of TILTS.
    """
    if "triaxial" in kind:
        block = np.sort(random.uniform(3.0, 5.5, 3))
    else:
        girth, tall = sorted(random.uniform(3.0, 6.5, 2))
        pointed = random.random() < 0.8
        block = np.array([girth, girth, tall if pointed else 0.8 * girth])
    rotate = TILTS.get(kind, (0.0, 0.0, 0.0))
    up, mantle = random.uniform(-0.6, 0.9), random.uniform(8.6, 9.8)
    insert = block * random.uniform(0.45, 0.7)
    lift = random.uniform(-0.1, 0.25) * block[2] if rotate == (0.0, 0.0, 0.0) else 0.0
    side = random.uniform(-0.8, 0.8, 2) if kind == "off axis" else np.zeros(2)
    x, y = side.tolist()
    return (
        Ellipsoid((RADIUS,) * 3),
        Ellipsoid((mantle,) * 3, host=0),
        Ellipsoid(tuple(block.tolist()), (x, y, up), rotate, host=1),
        Ellipsoid(tuple(insert.tolist()), (x, y, up + lift), rotate, host=2),
    )


def manufactured(
    random: np.random.Generator, kind: str, about: str, *, intermediate: bool = False
) -> tuple[Line, tuple[float, ...]]:
    """A line of one weight, within 4 oz of top weight about the CG, and the densities it is of."""
    while True:
        some = solids(random, kind)
        densities = tuple(float(random.uniform(*span)) for span in RANGES)
        mass, radii, cg = weight_and_radii(some, densities, about)
        low, middle, high = radii.tolist()
        top = float(np.linalg.norm(cg)) * mass / RADIUS / OUNCE
        if top <= 4.0 and (kind != "round" or high - low < 0.006 * INCH):
            break
    inner = (high - middle, high - middle) if intermediate else None
    line = Line(some, {"15": float(mass)}, (low, low), (high - low,) * 2, inner, about=about)
    return line.but(top=(0.0, max(4.0, top))), densities
