"""Manufactured line-ups with a tilted extruded block: what was measured can be poured again."""

from __future__ import annotations

from typing import Any

import numpy as np
from oracles import quadrature
from oracles.lineups import INCH, POUND, RANGES, Line
from oracles.lineups import solids as lathe_solids

ON_TARGET = 0.00005 * INCH
"""cm: what a stated density's rounding may do to an RG or a differential."""
OUTLINE = [[-3.0, -2.5], [3.0, -2.5, 0.2], [3.2, 2.0], [0.5, 3.2, -0.25], [-2.6, 2.4, 0.3]]
INNER = [[-1.2, -1.0], [1.3, -1.0, 0.3], [1.1, 1.2], [-0.9, 1.0]]


def measured(matrices: list[np.ndarray], densities: list[float]) -> tuple[float, np.ndarray]:
    """Mass (g) and sorted RGs (cm) about the CG: each solid counts by its density less its host's.

    The oracle's quadrature over each solid's points is all that it is made of.
    """
    contrasts = np.diff(densities, prepend=0.0)
    J = sum(contrast * one for contrast, one in zip(contrasts, matrices, strict=True))
    mass, first = J[3, 3], J[3, :3]
    second = J[:3, :3] - np.outer(first, first) / mass
    return float(mass), np.sqrt(np.linalg.eigvalsh(np.trace(second) * np.eye(3) - second) / mass)


def block(outline: list[list[float]], height: float, scale: float) -> dict[str, Any]:
    corners = [[scale * x, scale * y, *bulge] for x, y, *bulge in outline]
    return {"outline": corners, "height": scale * height}


def text(line: Line, blocks: list[dict[str, Any]]) -> str:
    """The line's text with its two inner ellipsoids redrawn as extruded blocks, in mm."""
    said = line.text()
    for solid, drawn in zip(line.solids[2:], blocks, strict=True):
        axes = [20.0 * float(a) for a in solid.axes]
        old = f'{{ kind = "ellipsoid", diameters = {axes} }}'
        corners = [[10 * x, 10 * y, *bulge] for x, y, *bulge in drawn["outline"]]
        new = f'{{ kind = "extruded", outline = {corners}, height = {10 * drawn["height"]} }}'
        assert old in said
        said = said.replace(old, new)
    return said


def test_a_tilted_block_is_solved_back(solved):
    """30 random ones: turned any way, aside of the middle, three RGs."""
    random = np.random.default_rng(17)
    missed = []
    for number in range(30):
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
        mass, radii = measured(matrices, densities)
        placed = tuple(type(s)(s.axes, at, rotate, s.host) for s in (outer, inner))
        line = Line(
            (cover, mantle, *placed),
            {"15": mass},
            (float(radii[0]),) * 2,
            (float(radii[2] - radii[0]),) * 2,
            (float(radii[2] - radii[1]),) * 2,
        )
        result = solved(text(line, blocks))
        if result.status != "feasible":
            missed.append((number, result.status))
            continue
        poured, found = measured(matrices, result.weights[0].ball.densities.tolist())
        assert abs(poured - mass) < 0.001 * POUND
        assert np.all(
            np.abs(np.subtract.outer(found, found) - np.subtract.outer(radii, radii)) < (ON_TARGET)
        )
        assert abs(found[0] - radii[0]) < ON_TARGET
    assert missed == []
