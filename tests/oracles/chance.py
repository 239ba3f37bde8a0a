"""How many balls of a line of nested solids of revolution are good, by drawing balls at random.

A ball is the sum of its solids, each at its density less its host's, from handbook formulas alone
(Beer & Johnston; the torus from MathWorld; all from memory), every solid on the pin axis. Balls are
drawn by numpy's PCG64, and measured one 3×3 matrix each by `eigvalsh`. A good ball is one within
the target's tolerances of weight, low RG and differential; the rulebook's limits lie farther out.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

INCH, POUND = 2.54, 453.59237
AT_ONCE = 50_000
Unit = tuple[float, float, float]
"""Of a solid of unit density about its own centre: volume, ∫x² and ∫z² (its axis is z)."""


def sphere(shape: Mapping[str, float]) -> Unit:
    """Of R: V R²/5 each way."""
    R = shape["diameter"] / 2
    V = 4 / 3 * np.pi * R**3
    return V, V * R**2 / 5, V * R**2 / 5


def spheroid(shape: Mapping[str, float]) -> Unit:
    """Of semi-axes a, a, c: V a²/5 and V c²/5."""
    a, c = shape["diameter"] / 2, shape["height"] / 2
    V = 4 / 3 * np.pi * a**2 * c
    return V, V * a**2 / 5, V * c**2 / 5


def capsule(shape: Mapping[str, float]) -> Unit:
    """A cylinder of R and H, and two half balls whose centroids lie 3R/8 beyond its ends."""
    R = shape["diameter"] / 2
    H = shape["height"] - 2 * R
    tube, ends = np.pi * R**2 * H, 4 / 3 * np.pi * R**3
    along = tube * H**2 / 12 + ends * (R**2 / 5 + H**2 / 4 + 3 / 8 * H * R)
    return tube + ends, tube * R**2 / 4 + ends * R**2 / 5, along


def ring(shape: Mapping[str, float]) -> Unit:
    """A torus of R and a: I about its axis V(R² + ¾a²), and ∫z² = V a²/4."""
    R, a = shape["diameter"] / 2, shape["thickness"] / 2
    V = 2 * np.pi**2 * R * a**2
    return V, V * (R**2 + 3 / 4 * a**2) / 2, V * a**2 / 4


SOLIDS: Mapping[str, Callable[[Mapping[str, float]], Unit]] = {
    "sphere": sphere,
    "spheroid": spheroid,
    "capsule": capsule,
    "ring": ring,
}


@dataclass(frozen=True)
class Spread:
    """± of each part's density (g/cm³) and of the ball's diameter (in), and how they are read."""

    densities: Mapping[str, float]
    diameter: float = 0.0
    normal: bool = False
    """three standard deviations of a normal; else the ends, all between equally likely"""


def declared(text: str) -> Spread:
    """The ± of the parts' materials."""
    content = tomllib.loads(text)
    materials = content["materials"]
    return Spread({p["name"]: materials[p["material"]]["tolerance"] for p in content["parts"]})


def good_shares(
    text: str,
    poured: Mapping[str, Mapping[str, float]],
    spread: Spread,
    count: int,
    seed: int,
) -> dict[str, float]:
    """The share of good balls of each weight of a scenario, as `poured` (g/cm³, by part)."""
    content, random = tomllib.loads(text), np.random.Generator(np.random.PCG64(seed))
    assert content["units"] == {"length": "in", "weight": "lb", "density": "g/cm3", "rg": "in"}
    assert content["target"]["about"] == "cg"
    shares = {}
    for label, weight in content["weights"].items():
        given = weight if isinstance(weight, dict) else {"target": weight}
        asked = content["target"] | content["target"]["tolerance"] | {
            "pounds": given["target"],
            "weight": given.get("tolerance", content["target"]["tolerance"]["weight"]),
            "rg_is": content["target"]["rg"],
            "differential_is": content["target"]["differential"],
        }  # fmt: skip
        pieces = [
            _good(content["parts"], poured[label], spread, asked, random)
            for _ in range(count // AT_ONCE)
        ]
        shares[label] = float(np.mean(pieces))
    return shares


def _good(
    parts: list[dict[str, object]],
    poured: Mapping[str, float],
    spread: Spread,
    asked: Mapping[str, float],
    random: np.random.Generator,
) -> np.ndarray:
    """Whether each of AT_ONCE balls is good."""

    def off(half: float) -> np.ndarray:
        drawn = random.standard_normal(AT_ONCE) / 3.0
        return half * (drawn if spread.normal else random.uniform(-1.0, 1.0, AT_ONCE))

    rho = {name: density + off(spread.densities[name]) for name, density in poured.items()}
    larger = 1.0 + off(spread.diameter) / float(parts[0]["shape"]["diameter"])  # type: ignore[index]
    mass, first, xx, zz = np.zeros((4, AT_ONCE))
    for part in parts:
        shape, name = dict(part["shape"]), str(part["name"])  # type: ignore[call-overload]
        kind = shape.pop("kind")
        V, across, along = SOLIDS[kind]({key: size * INCH for key, size in shape.items()})
        z = part.get("at", [0, 0, 0])[2] * INCH  # type: ignore[index]
        contrast = rho[name] - (rho[str(part["inside"])] if "inside" in part else 0.0)
        scale = 1.0 if "inside" in part else larger
        mass += contrast * V * scale**3
        first += contrast * V * z
        xx += contrast * across * scale**5
        zz += contrast * (along * scale**5 + V * z**2)
    inertia = np.zeros((AT_ONCE, 3, 3))
    c2 = (first / mass) ** 2
    inertia[:, 0, 0] = inertia[:, 1, 1] = (xx + zz) / mass - c2
    inertia[:, 2, 2] = 2 * xx / mass
    radii = np.sqrt(np.linalg.eigvalsh(inertia)) / INCH
    return np.asarray(
        (np.abs(mass / POUND - asked["pounds"]) <= asked["weight"])
        & (np.abs(radii[:, 0] - asked["rg_is"]) <= asked["rg"])
        & (np.abs(radii[:, 2] - radii[:, 0] - asked["differential_is"]) <= asked["differential"])
    )
