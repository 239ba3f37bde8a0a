"""A ball of two ellipsoids with everything spread, which `oracles.balls` can measure, too."""

from __future__ import annotations

import numpy as np
from optimizer_texts import head, read
from oracles.balls import Ellipsoid, about_centre

from optimizer.lineup.result import LineupResult, Search
from optimizer.lineup.stating import measured
from optimizer.scenario import linear_maps
from shared.arrays import frozen

INCH, DEGREE = 2.54, np.pi / 180

BALL = """\
[dimensions]
tall = 6.0
[materials.shell]
density = [1.1, 1.3]
tolerance = 0.01
[materials.filled]
density = [0.6, 2.9]
tolerance = 0.02
[[parts]]
name = "cover"
shape = { kind = "sphere", diameter = 8.58 }
material = "shell"
[[parts]]
name = "block"
inside = "cover"
shape = { kind = "ellipsoid", diameters = [4.4, 5.0, "tall"] }
at = [0.1, 0.05, 0.2]
rotate = [20, 0, 0]
material = "filled"
"""
EVERYTHING = """\
[spread]
density = { cover = 0.012, block = { uniform = 0.03, within = 0.004 } }
position = { block = { x = 0.02, y = 0.03, z = 0.02 } }
tilt.block = 0.5
dimensions.tall = 0.01
diameter = 0.005
centre.z = 0.01
scale = 0.02
"""
DENSITIES = (1.2, 1.4)
COVER, MANTLE = 0.015, 0.03
"""g/cm³: ± of two concentric layers."""


def two_layers(
    weights: dict[str, float],
    more: str = "",
    ranges: tuple[str, str] = ("[0.5, 3.0]", "[0.5, 3.0]"),
) -> str:
    """Return two concentric layers, of which only the weight is likely to miss."""
    text = head("Pair", weights, (2.6, 0.0), tolerance=(0.06, 0.5, 0.1))
    for name, half, diameter, inside, ends in (
        ("cover", COVER, 8.58, "", ranges[0]),
        ("mantle", MANTLE, 7.0, 'inside = "cover"\n', ranges[1]),
    ):
        text += f"[materials.{name}]\ndensity = {ends}\ntolerance = {half}\n"
        text += f'[[parts]]\nname = "{name}"\nmaterial = "{name}"\n{inside}'
        text += f'shape = {{ kind = "sphere", diameter = {diameter} }}\n'
    return text + more


def lineup(text: str, densities: tuple[float, ...]) -> LineupResult:
    """A line-up whose weights all have the same densities; it asks for what the first one has."""
    scenario = read(text)
    balls = [linear_map.ball(np.array(densities)) for linear_map in linear_maps(scenario)]
    radii = balls[0].radii
    asked = radii.low, radii.differential
    weights = tuple(measured(ball, frozen(asked)) for ball in balls)
    search = Search(complete=True, starts=1, programs=1, solver="a solver")
    return LineupResult(scenario, "feasible", asked, weights, None, search, ())


def by_oracle(off: dict[str, float], about: str = "cg") -> dict[str, float]:
    """The figures of BALL with inputs off by these amounts, in cm, g, g/cm³ and rad."""

    def of(name: str) -> float:
        return off.get(name, 0.0)

    R = (8.58 * INCH + of("diameter")) / 2
    at = [
        place * INCH + of(f"block position {axis}") - of(f"centre {axis}")
        for place, axis in zip((0.1, 0.05, 0.2), "xyz", strict=True)
    ]
    rotate = (20.0 + of("block tilt x") / DEGREE, of("block tilt y") / DEGREE, 0.0)
    axes = (2.2 * INCH, 2.5 * INCH, (6.0 * INCH + of("tall dimension")) / 2)
    solids = (Ellipsoid((R, R, R)), Ellipsoid(axes, (at[0], at[1], at[2]), rotate, 0))
    cover, block = DENSITIES
    within = of("block density within a batch")
    mass, first, inertia = about_centre(
        solids, (cover + of("cover density"), block + of("block density") + within)
    )
    c = first / mass if about == "cg" else np.zeros(3)
    squares, turned = np.linalg.eigh(inertia / mass - (c @ c * np.eye(3) - np.outer(c, c)))
    low, between, high = np.sqrt(squares).tolist()
    size = float(np.linalg.norm(first))
    return {
        "weight": mass + of("scale"),
        "low RG": low,
        "intermediate RG": between,
        "high RG": high,
        "differential": high - low,
        "intermediate differential": high - between,
        "top weight": size / (8.58 / 2 * INCH),
        "CG offset": size / mass,
        "axis tilt": float(np.arccos(abs(turned[2, 0]))),
    }
