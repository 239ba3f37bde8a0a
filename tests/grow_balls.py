"""Random balls of four pours, and the same without one of them."""

from __future__ import annotations

from random import Random
from typing import Any

from optimizer.ball.weight_class import Ball
from optimizer.scenario import Scenario, linear_maps, scenario
from optimizer.scenario.drawn import mould_walls
from optimizer.scenario.source.part_tables import without_part
from optimizer.scenario.source.toml_text import toml_value
from shared.errors import InputError
from shared.units import INCH, POUND

WALL = 0.12
"""in. The thinnest wall of a ball."""
RANGES = {"shell": (1.10, 1.26), "light": (0.60, 1.45), "filled": (1.00, 2.90), "dense": (1.6, 3.6)}
SPREAD = {"shell": 0.010, "light": 0.015, "filled": 0.025, "dense": 0.030}
HEAD = """\
name = "planted"
revision = "A"
[units]
length = "in"
weight = "lb"
density = "g/cm3"
rg = "in"
"""


def planted(seed: int) -> tuple[str, str, str]:
    """A ball that can be poured, the same without one pour, and that part's name."""
    random = Random(seed)  # noqa: S311
    while True:
        parts = drawn(random)
        densities = {part["material"]: random.uniform(*RANGES[part["material"]]) for part in parts}
        try:
            line = text(parts, measured(parts, densities))
            (mould,) = scenario(line, file="planted.toml", target_required=True).classes
            if min(wall.thickness for wall in mould_walls(mould.parts)) < WALL * INCH:
                continue
            gone = random.choice(["mantle", "block", "insert", "insert"])
            return line, without_part(line, gone), gone
        except InputError:  # parts cross, or no such ball
            continue


def text(parts: list[dict[str, Any]], asked: tuple[float, float, float]) -> str:
    """The scenario of these parts, which asks for this weight, RG and differential."""
    weight, rg, differential = asked
    lines = [HEAD, "[target]", f"rg = {rg}", f"differential = {differential}"]
    lines += ["tolerance = { weight = 0.06, rg = 0.003, differential = 0.001 }"]
    lines += ["[weights]", f"15 = {weight}", "[limits]"]
    lines += [f"wall = {{ min = {WALL}, tolerance = 0.02 }}"]
    for name, (low, high) in RANGES.items():
        lines += [
            f"[materials.{name}]",
            f"density = [{low}, {high}]",
            f"tolerance = {SPREAD[name]}",
        ]
    for part in parts:
        lines += ["[[parts]]", *(f"{key} = {toml_value(value)}" for key, value in part.items())]
    return "\n".join([*lines, ""])


def measured(
    parts: list[dict[str, Any]], densities: dict[str, float]
) -> tuple[float, float, float]:
    """What a ball weighs, lb, and its low RG and differential about the CG, in."""
    read: Scenario = scenario(text(parts, (15.0, 2.5, 0.04)), file="", target_required=True)
    (mould,) = linear_maps(read)
    ball: Ball = mould.ball([densities[pour.material] for pour in mould.pours])  # type: ignore[arg-type]
    low, _, high = ball.radii.radii.tolist()
    return ball.properties.mass / POUND, low / INCH, (high - low) / INCH


def drawn(random: Random) -> list[dict[str, Any]]:
    """A cover, a mantle, a block, and an insert somewhere."""
    ball, bed = 8.5 + random.uniform(-0.05, 0.05), random.uniform(6.4, 7.8)
    tall, wide = random.uniform(3.5, 5.8), random.uniform(2.2, 3.6)
    lift = round(random.uniform(-0.3, 0.4), 2)
    block = random.choice((
        {"kind": "spheroid", "diameter": round(wide, 2), "height": round(tall, 2)},
        {"kind": "capsule", "diameter": round(wide, 2), "height": round(tall, 2)},
        {"kind": "cylinder", "diameter": round(0.9 * wide, 2), "height": round(0.9 * tall, 2)},
    ))  # fmt: skip
    insert = random.choice((_heart, _ring, _cap))(random, wide, tall, lift, bed)
    return [
        {"name": "cover", "shape": _ball(ball), "material": "shell"},
        {"name": "mantle", "inside": "cover", "shape": _ball(bed), "material": "light"},
        {"name": "block", "inside": "mantle", "shape": block, "at": [0, 0, lift],
         "material": "filled"},
        {"name": "insert", **insert, "material": "dense"},
    ]  # fmt: skip


def _ball(diameter: float) -> dict[str, Any]:
    return {"kind": "sphere", "diameter": round(diameter, 2)}


def _heart(random: Random, wide: float, tall: float, lift: float, bed: float) -> dict[str, Any]:
    """A solid in the block."""
    a, b = round(random.uniform(0.3, 0.7) * wide, 2), round(random.uniform(0.3, 0.7) * tall, 2)
    shape = random.choice((
        {"kind": "sphere", "diameter": a},
        {"kind": "spheroid", "diameter": a, "height": b},
        {"kind": "capsule", "diameter": a, "height": max(a, b)},
        {"kind": "cylinder", "diameter": a, "height": b},
    ))  # fmt: skip
    at = [0, 0, round(lift + random.uniform(-0.2, 0.2), 2)]
    return {"inside": "block", "shape": shape, "at": at}


def _ring(random: Random, wide: float, tall: float, lift: float, bed: float) -> dict[str, Any]:
    """A ring around the block."""
    thick = random.uniform(0.3, (bed - wide) / 2)
    shape = {"kind": "ring", "diameter": round((bed + wide) / 2, 2), "thickness": round(thick, 2)}
    at = [0, 0, round(lift + random.uniform(-0.8, 0.8), 2)]
    return {"inside": "mantle", "shape": shape, "at": at}


def _cap(random: Random, wide: float, tall: float, lift: float, bed: float) -> dict[str, Any]:
    """A disc or a dome above or below the block."""
    way = random.choice((1.0, -1.0))
    high = round(random.uniform(0.3, 1.0), 2)
    at = [0, 0, round(lift + way * (tall / 2 + random.uniform(0.2, 0.7)), 2)]
    if random.random() < 0.5:
        shape = {"kind": "cylinder", "diameter": round(random.uniform(0.6, 2.4), 2), "height": high}
        return {"inside": "mantle", "shape": shape, "at": at}
    shape = {"kind": "dome", "sphere": round(random.uniform(1.2, 5.0), 2), "height": high}
    return {"inside": "mantle", "shape": shape, "at": at, "rotate": [0 if way > 0 else 180, 0, 0]}
