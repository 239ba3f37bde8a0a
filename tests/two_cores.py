"""A line whose lightest weight has a core of its own: text, and its solids for the oracle.

All parts are ellipsoids, so that `oracles.balls` measures them. The parts of one weight stand in
the file among those of others: an index into all the parts means nothing in a weight.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from optimizer_texts import head
from oracles.balls import Ellipsoid, weight_and_radii
from oracles.lineups import INCH, OUNCE

HEAVY, LIGHT = ("15", "14"), ("12",)
DRAWN: Mapping[str, tuple[str | None, tuple[float, float], float, Sequence[str]]] = {
    "cover": (None, (8.58, 8.58), 0.0, ()),
    "light spindle": ("mantle", (3.20, 6.40), 0.15, LIGHT),
    "mantle": ("cover", (7.48, 7.48), 0.0, ()),
    "light keel": ("light spindle", (2.00, 4.60), 0.30, ()),
    "spindle": ("mantle", (3.50, 6.10), 0.30, HEAVY),
    "keel": ("spindle", (2.40, 4.60), 0.45, ()),
    "crown": ("mantle", (0.60, 0.60), -3.25, HEAVY),
}
"""Of each part its host, diameter and height, in; how far up it sits, in; its `only_in`."""
MATERIALS = {
    "cover": ("shell", (0.95, 1.24), 0.010),
    "mantle": ("light", (0.50, 1.45), 0.015),
    "keel": ("dense", (0.80, 3.60), 0.030),
    "light keel": ("dense", (0.80, 3.60), 0.030),
}
FILLED = ("filled", (0.70, 2.90), 0.025)
WEIGHTS = {"15": 15.12, "14": 14.12, "12": 12.12}


def standing(part: str) -> Sequence[str]:
    """Return the labels of the weights that a part stands in."""
    host, _, _, only = DRAWN[part]
    return only or (tuple(WEIGHTS) if host is None else standing(host))


def text(labels: Sequence[str] = tuple(WEIGHTS), more: str = "", same: str = "") -> str:
    """Return the scenario of some of the weights; `only_in` stands where it says something.

    `more` are further lines of [limits], `same` is the cover's `same_density`.
    """
    weights = {label: WEIGHTS[label] for label in labels}
    lines = [head("Hornbeam", weights, (2.575, 0.036), about="cg")]
    for name, (low, high), spread in {FILLED, *MATERIALS.values()}:
        lines += [f"[materials.{name}]", f"density = [{low}, {high}]", f"tolerance = {spread}", ""]
    for part, (host, (wide, tall), up, only) in DRAWN.items():
        if not set(labels) & set(standing(part)):
            continue
        shape = f'{{ kind = "spheroid", diameter = {wide}, height = {tall} }}'
        if wide == tall:
            shape = f'{{ kind = "sphere", diameter = {wide} }}'
        lines += ["[[parts]]", f'name = "{part}"', f"shape = {shape}"]
        lines.append(f'material = "{MATERIALS.get(part, FILLED)[0]}"')
        if host is not None:
            lines += [f'inside = "{host}"', f"at = [0, 0, {up}]"]
        if only and set(only) != set(labels):
            lines.append(f"only_in = {[label for label in only if label in labels]}")
        if part == "cover" and same:
            lines.append(f"same_density = {same}")
        lines.append("")
    lines += ["[limits]", 'rulebook = "usbc"', "wall = { min = 0.10, tolerance = 0.02 }"]
    lines += ["top_weight = { min = 0.0, max = 4.0, tolerance = 0.25 }", more]
    return "\n".join(lines).replace("'", '"')


def measured(densities: Mapping[str, float]) -> tuple[float, np.ndarray, float]:
    """Return weight, g, RGs about the CG, in, and top weight, oz, of a ball of the parts named."""
    names = [part for part in DRAWN if part in densities]
    solids = [_solid(part, names) for part in names]
    mass, radii, cg = weight_and_radii(solids, [densities[part] for part in names], "cg")
    return mass, radii / INCH, float(np.linalg.norm(cg)) * mass / (4.29 * INCH) / OUNCE


def _solid(part: str, names: Sequence[str]) -> Ellipsoid:
    host, (wide, tall), up, _ = DRAWN[part]
    axes = (wide / 2 * INCH, wide / 2 * INCH, tall / 2 * INCH)
    return Ellipsoid(axes, (0.0, 0.0, up * INCH), host=None if host is None else names.index(host))
