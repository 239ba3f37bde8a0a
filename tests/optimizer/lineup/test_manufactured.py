"""Manufactured line-ups: choose densities, let an oracle measure the ball, ask for what it measured.

Whatever the oracle measured can be poured, so the solver must find a line-up, and be back on target.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from oracles.balls import Ellipsoid, weight_and_radii

from optimizer.lineup.pipeline import solve_lineup
from optimizer.scenario.read import read_scenario
from shared.units import INCH, OUNCE

RADIUS = 8.58 / 2 * INCH
ON_TARGET = 0.00005 * INCH
"""cm: what a stated density's rounding may do to an RG or a differential."""


def _ball(random, kind):
    """A cover, a mantle, a block and an insert, with room between them, sometimes off centre."""
    block = np.sort(random.uniform(3.0, 5.5, 3)) if kind == "triaxial" else None
    if block is None:
        girth, tall = sorted(random.uniform(3.0, 6.5, 2))
        block = np.array([girth, girth, tall]) if random.random() < 0.8 else np.array([girth, girth, 0.8 * girth])
    tilt = {"tilted 15": (15.0, 0.0, 0.0), "tilted 80": (80.0, 0.0, 0.0), "triaxial": (20.0, 35.0, 10.0)}
    rotate = tilt.get(kind, (0.0, 0.0, 0.0))
    up = random.uniform(-0.6, 0.9)
    mantle = random.uniform(8.6, 9.8)
    insert = block * random.uniform(0.45, 0.7)
    lift = random.uniform(-0.1, 0.25) * block[2]
    return [
        Ellipsoid((RADIUS,) * 3),
        Ellipsoid((mantle,) * 3, host=0),
        Ellipsoid(tuple(block), (0.0, 0.0, up), rotate, host=1),
        Ellipsoid(tuple(insert), (0.0, 0.0, up + (lift if rotate == (0.0, 0.0, 0.0) else 0.0)), rotate, host=2),
    ]


RANGES = [(1.0, 1.3), (0.5, 1.5), (0.8, 2.9), (1.0, 3.6)]


def _line(random, kind, about):
    """A ball within 4 oz of top weight (about the CG), and what the oracle measures of it."""
    while True:
        solids = _ball(random, kind)
        densities = [random.uniform(*span) for span in RANGES]
        mass, radii, cg = weight_and_radii(solids, densities, about)
        top = float(np.linalg.norm(cg)) * mass / RADIUS / OUNCE
        small = radii[2] - radii[0] < 0.006 * INCH
        if top <= 4.0 and (kind != "round" or small):
            return solids, float(mass), radii.tolist(), top


def _text(solids, mass, radii, top, about, *, intermediate):
    names = ["cover", "mantle", "block", "insert"]
    lines = ['name = "m"', 'revision = "A"', "[units]"]
    lines += ['length = "mm"', 'weight = "kg"', 'density = "g/cm3"', 'rg = "mm"', "[target]"]
    lines += [f"rg = {radii[0] * 10}", f"differential = {(radii[2] - radii[0]) * 10}"]
    extra = ""
    if intermediate:
        lines.append(f"intermediate_differential = {(radii[2] - radii[1]) * 10}")
        extra = ", intermediate_differential = 0.025"
    lines += [f'about = "{about}"']
    lines += [f"tolerance = {{ weight = 0.03, rg = 0.08, differential = 0.025{extra} }}"]
    lines += ["[weights]", f"15 = {mass / 1000}", "[limits]"]
    lines += [f"top_weight = {{ min = 0.0, max = {max(4.0, top)}, tolerance = 0.25 }}"]
    for name, solid, span in zip(names, solids, RANGES, strict=True):
        lines += [f"[materials.{name}]", f"density = [{span[0]}, {span[1]}]", "tolerance = 0.02"]
        axes = [20.0 * float(a) for a in solid.axes]
        shape = f'{{ kind = "ellipsoid", diameters = {axes} }}'
        if solid.host is None:
            shape = f'{{ kind = "sphere", diameter = {axes[0]} }}'
        lines += ["[[parts]]", f'name = "{name}"', f'material = "{name}"', f"shape = {shape}"]
        if solid.host is not None:
            lines += [f'inside = "{names[solid.host]}"', f"at = {[10.0 * float(c) for c in solid.at]}"]
            lines += [f"rotate = {list(solid.rotate)}"]
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("kind", "about", "count", "intermediate"),
    [
        ("aligned", "centre", 200, False),
        ("aligned", "cg", 200, False),
        ("tilted 15", "cg", 60, False),
        ("tilted 80", "cg", 60, False),
        ("triaxial", "cg", 60, False),
        ("triaxial", "cg", 60, True),
        ("round", "cg", 60, False),
    ],
)
def test_what_was_measured_can_be_poured_again(tmp_path: Path, kind, about, count, intermediate):
    random = np.random.default_rng([count, len(kind), len(about), intermediate])
    missed = []
    for number in range(count):
        solids, mass, radii, top = _line(random, kind, about)
        file = tmp_path / f"{number}.toml"
        file.write_text(_text(solids, mass, radii, top, about, intermediate=intermediate))
        result = solve_lineup(read_scenario(str(file), target_required=True))
        if result.status != "feasible":
            missed.append((number, result.status))
            continue
        densities = result.weights[0].ball.densities
        poured, found, _ = weight_and_radii(solids, densities.tolist(), about)
        assert abs(poured - mass) < 0.001 * 453.6
        assert abs(found[0] - radii[0]) < ON_TARGET
        assert abs((found[2] - found[0]) - (radii[2] - radii[0])) < ON_TARGET
        if intermediate:
            assert abs((found[2] - found[1]) - (radii[2] - radii[1])) < ON_TARGET
    assert missed == []
