"""Random parts, nested to depth 5: each guest in a ball of its own within its host."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random
from typing import Any, Final

import numpy as np
from truth import solids
from truth.compounds import rotation
from truth.solids import ALIGNED, CONVEX, KINDS, Ball

Part = dict[str, Any]
DEEPEST: Final = 5
GAP: Final = 0.985
"""Of a ball of room, how much a guest may fill."""
AXIAL: Final = ("sphere", "spheroid", "cylinder", "cone", "capsule", "dome", "ring", "revolved")
TINY: Final = 0.024
"""Inches: the radius of a ball of a cubic mm."""


@dataclass
class Tree:
    """Parts as they are drawn, and the room that is left between any two; all in inches."""

    random: Random
    on_axis: bool
    tiny: bool
    parts: list[Part] = field(default_factory=list)
    gap: float = float("inf")


def parts(random: Random, count: int, *, on_axis: bool, tiny: bool) -> Tree:
    """Return a tree of at most so many parts."""
    tree = Tree(random, on_axis, tiny)
    radius = round(random.uniform(8.5, 8.595), 3) / 2
    _add(tree, {"shape": {"kind": "sphere", "diameter": 2 * radius}}, None)
    if count > 1:
        bed = random.uniform(0.84, 0.94) * radius
        kind = "sphere" if random.random() < 0.75 else _kind(tree)
        _guest(tree, 0, Ball(np.zeros(3), bed), kind, (count - 1, 2))
        tree.gap = min(tree.gap, radius - bed)
    return tree


def in_millimetres(part: Part) -> Part:
    """Return a part of a text in inches as one of a text in millimetres."""
    return {
        key: [solids.in_millimetres(one) for one in value]
        if key in ("shapes", "minus")
        else solids.in_millimetres(value)
        if key == "shape"
        else [round(25.4 * one, 4) for one in value]
        if key == "at"
        else value
        for key, value in part.items()
    }


def _add(tree: Tree, part: Part, host: int | None) -> int:
    number = len(tree.parts)
    own = {"name": f"part {number}" if number else "cover", **part}
    if host is not None:
        own["inside"] = tree.parts[host]["name"]
    tree.parts.append(own)
    return number


def _kind(tree: Tree) -> str:
    return tree.random.choice(ALIGNED if tree.on_axis else tuple(KINDS))


def _guest(tree: Tree, host: int, room: Ball, kind: str, left: tuple[int, int]) -> None:
    """Add a guest that fills a ball of room in its host; `left`: so many parts, from a depth on."""
    count, depth = left
    part = (
        _compound(tree, room.radius)
        if room.radius > 0.1 and tree.random.random() < 0.15
        else _simple(tree, kind, room.radius)
    )
    about, inside = _balls(tree, part)
    part["at"] = [round(float(one), 5) for one in room.centre - about.centre]
    if tree.on_axis:
        part["at"][:2] = [0, 0]
    number = _add(tree, part, host)
    if count > 1 and depth < DEEPEST and inside.radius > 0.05:
        space = Ball(inside.centre + np.array(part["at"]), inside.radius)
        _fill(tree, number, space, count - 1, depth + 1)


def _simple(tree: Tree, kind: str, radius: float) -> Part:
    random = tree.random
    stretch = None
    if random.random() < 0.3 and kind != "mesh":
        stretch = [round(random.uniform(0.7, 1.0), 3) for _ in range(3)]
        if tree.on_axis and random.random() < 0.7:
            stretch[1] = stretch[0]
    shape = solids.drawn(random, kind, radius)
    part: Part = {"shape": shape}
    if "stretch" in shape:
        part["stretch"] = shape.pop("stretch")
    elif stretch:
        part["stretch"] = stretch
    if random.random() < 0.4:
        part["rotate"] = (
            [0, 0, random.choice((0, 90, 180))]
            if tree.on_axis
            else [round(random.uniform(-180, 180), 2) for _ in range(3)]
            if random.random() < 0.7
            else [random.choice((8, 0.5, 90)), 0, 0]
        )
    return part


def _compound(tree: Tree, radius: float) -> Part:
    """Return a part of two joined solids, or of one with a cut, or both."""
    random = tree.random
    kinds = AXIAL if tree.on_axis else CONVEX
    bodies = [solids.drawn(random, random.choice(kinds), 0.7 * radius)]
    if random.random() < 0.6:
        bodies.append(_aside(tree, random.choice(kinds), 0.5 * radius, 0.35 * radius))
    part: Part = {"shapes": bodies}
    if len(bodies) == 1 or random.random() < 0.5:
        part["minus"] = [_aside(tree, random.choice(kinds), 0.3 * radius, 0.6 * radius)]
    return part


def _aside(tree: Tree, kind: str, radius: float, off: float) -> Part:
    random = tree.random
    solid = solids.drawn(random, kind, radius)
    way = np.array([0.0, 0.0, random.choice((-1.0, 1.0))])
    if not tree.on_axis:
        way = np.array([random.gauss(0, 1) for _ in range(3)])
        solid["rotate"] = [round(random.uniform(-90, 90), 1) for _ in range(3)]
    solid["at"] = [round(float(one), 4) for one in off * way / np.linalg.norm(way)]
    return solid


def _balls(tree: Tree, part: Part) -> tuple[Ball, Ball]:
    """Return a ball about a part at its host's origin, and one within it."""
    scale = 1 / 2.54 if part.get("shape", {}).get("kind") == "mesh" else 1.0
    bodies = part.get("shapes") or [part["shape"]]
    own = [
        solids.placed(solids.around(solids.shaped(one)), one, rotation(one), inner=False)
        for one in bodies
    ]
    first = own[0]
    radius = max(float(np.linalg.norm(b.centre - first.centre)) + b.radius for b in own)
    inner = solids.placed(
        solids.within(bodies[0], on_axis=tree.on_axis), bodies[0], rotation(bodies[0]), inner=True
    )
    room = inner.radius
    for hole in part.get("minus", []):
        cut = solids.placed(solids.around(solids.shaped(hole)), hole, rotation(hole), inner=False)
        apart = float(np.linalg.norm(cut.centre - inner.centre)) - cut.radius
        room = max(0.0, min(room, 0.95 * apart))
    about = Ball(first.centre * scale, radius * scale)
    inside = Ball(inner.centre * scale, room * scale)
    turn = rotation(part)
    return (
        solids.placed(about, {"stretch": part.get("stretch", (1, 1, 1))}, turn, inner=False),
        solids.placed(inside, {"stretch": part.get("stretch", (1, 1, 1))}, turn, inner=True),
    )


def _fill(tree: Tree, host: int, inside: Ball, count: int, depth: int) -> None:
    """Put guests into a ball within their host, until `count` parts are added or none fit."""
    random = tree.random
    many = min(count, random.choice((1, 1, 1, 2, 2, 3, 4)))
    if many == 1 and count > 1 and random.random() < 0.4 and "ring" in KINDS:
        core, tube = 0.62 * inside.radius, 0.15 * inside.radius
        ring = {
            "kind": "ring",
            "diameter": round(1.58 * inside.radius, 4),
            "thickness": round(2 * tube, 4),
        }
        at = [round(float(one), 5) for one in inside.centre]
        _add(tree, {"shape": ring, "at": at}, host)
        tree.gap = min(tree.gap, 0.01 * inside.radius)
        inside, count = Ball(inside.centre, core), count - 1
    rooms = list(_rooms(tree, inside, many))
    if tree.tiny and rooms:
        tree.tiny = False
        rooms[-1] = Ball(rooms[-1].centre, min(TINY, rooms[-1].radius))
    shares = _shares(random, count, len(rooms))
    for room, share in zip(rooms, shares, strict=True):
        tree.gap = min(tree.gap, (1 - GAP) * room.radius)
        _guest(tree, host, Ball(room.centre, GAP * room.radius), _kind(tree), (share, depth))


def _shares(random: Random, count: int, rooms: int) -> list[int]:
    shares = [1] * rooms
    for _ in range(count - rooms):
        shares[random.randrange(rooms)] += 1
    return shares


def _rooms(tree: Tree, inside: Ball, many: int) -> Iterator[Ball]:
    """Yield balls within a ball, apart from each other."""
    random, some = tree.random, []
    for _ in range(60 * many):
        radius = inside.radius * (
            random.uniform(0.55, 0.95) if many == 1 else random.uniform(0.2, 0.9 / (1 + 0.5 * many))
        )
        way = np.array([0.0, 0.0, random.choice((-1.0, 1.0))])
        if not tree.on_axis and random.random() < 0.6:
            way = np.array([random.gauss(0, 1) for _ in range(3)])
            way /= np.linalg.norm(way)
        off = random.uniform(0, inside.radius - radius) * way
        ball = Ball(inside.centre + off, radius)
        if all(np.linalg.norm(ball.centre - b.centre) > ball.radius + b.radius for b in some):
            some.append(ball)
            yield ball
        if len(some) == many:
            return
