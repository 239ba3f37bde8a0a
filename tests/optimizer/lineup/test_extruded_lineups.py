"""Manufactured line-ups with a tilted extruded block: what was measured can be poured again."""

from __future__ import annotations

from typing import Any

import numpy as np
from oracles import quadrature
from oracles.cores import asked, balanced, radii, redrawn
from oracles.lineups import POUND, RANGES, Line
from oracles.lineups import solids as lathe_solids
from planted import off
from whole import in_shares

OUTLINE = [[-3.0, -2.5], [3.0, -2.5, 0.2], [3.2, 2.0], [0.5, 3.2, -0.25], [-2.6, 2.4, 0.3]]
INNER = [[-1.2, -1.0], [1.3, -1.0, 0.3], [1.1, 1.2], [-0.9, 1.0]]


def block(outline: list[list[float]], height: float, scale: float) -> dict[str, Any]:
    corners = [[scale * x, scale * y, *bulge] for x, y, *bulge in outline]
    return {"outline": corners, "height": scale * height}


def text(line: Line, blocks: list[dict[str, Any]]) -> str:
    """The line's text with its two inner ellipsoids redrawn as extruded blocks, in mm."""
    shapes = []
    for drawn in blocks:
        corners = [[10 * x, 10 * y, *bulge] for x, y, *bulge in drawn["outline"]]
        own = f"outline = {corners}, height = {10 * drawn['height']}"
        shapes.append(f'shape = {{ kind = "extruded", {own} }}')
    return redrawn(line, shapes)


def planted(random: np.random.Generator) -> tuple[str, list[np.ndarray], float, np.ndarray]:
    """A line's text, its solids by quadrature, and the mass and RGs of the ball that it is of."""
    cover, mantle, outer, inner = lathe_solids(random, "triaxial")
    rotate = tuple(random.uniform(-180, 180, 3).tolist())
    at = tuple(random.uniform(-0.6, 0.6, 3).tolist())
    blocks = [block(OUTLINE, 9.0, random.uniform(0.8, 1.1)), block(INNER, 4.0, 1.0)]
    matrices = [
        quadrature.moments("sphere", {"diameter": 2 * cover.axes[0]}),
        quadrature.moments("sphere", {"diameter": 2 * mantle.axes[0]}),
        *(quadrature.moments("extruded", b, rotate=rotate, at=at) for b in blocks),
    ]
    densities = [float(random.uniform(*span)) for span in RANGES]
    mass, inertia = balanced(matrices, densities)
    wanted = radii(mass, inertia)
    placed = tuple(type(s)(s.axes, at, rotate, s.host) for s in (outer, inner))
    line = Line((cover, mantle, *placed), {}, (0.0, 0.0), (0.0, 0.0))
    return text(asked(line, mass, wanted), blocks), matrices, mass, wanted


@in_shares(10)
def test_a_tilted_block_is_solved_back(solved, share):
    """30 random ones: turned any way, aside of the middle, three RGs."""
    random = np.random.default_rng(17)
    missed = []
    for number, (line, matrices, mass, wanted) in enumerate(
        share(planted(random) for _ in range(30))
    ):
        result = solved(line)
        if result.status != "feasible":
            missed.append((number, result.status))
            continue
        poured, inertia = balanced(matrices, result.weights[0].ball.densities.tolist())
        assert abs(poured - mass) < 0.001 * POUND
        assert not off(radii(poured, inertia), wanted).any()
    assert missed == []
