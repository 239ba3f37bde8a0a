"""Changes of a scenario that a designer might make: most are read, and reach what computes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import deepcopy
from random import Random
from typing import Any, Final

from fuzz.trees import Place, places

FACTORS: Final = (0.5, 0.8, 0.9, 0.99, 1 - 1e-9, 1 + 1e-12, 1 + 1e-6, 1.01, 1.1, 1.25, 2.0)
ANGLES: Final = (0, 0.001, 1, 8, 30, 45, 89.999, 90, 180, -90, 360)
FIGURES: Final = ("rg", "differential", "intermediate_differential", "cg_offset")
SAME: Final = ("all", "none")


def changed(random: Random, tree: dict[str, Any]) -> dict[str, Any]:
    """Return a changed copy of a scenario's tree."""
    tree = deepcopy(tree)
    for _ in range(random.choice((1, 1, 2, 3, 5, 8))):
        random.choice(CHANGES)(random, tree)
    return tree


def _numbers(tree: Any) -> list[Place]:
    return [
        p
        for p in places(tree)
        if isinstance(p.value, int | float) and not isinstance(p.value, bool)
    ]


def _scaled(random: Random, tree: dict[str, Any]) -> None:
    place = random.choice(_numbers(tree))
    place.put(place.value * random.choice(FACTORS))


def _equal(random: Random, tree: dict[str, Any]) -> None:
    """Make two numbers the same: solids that touch, ranges of no width."""
    every = _numbers(random.choice([tree, tree.get("parts", tree), tree.get("materials", tree)]))
    if every:
        random.choice(every).put(random.choice(every).value)


def _zero(random: Random, tree: dict[str, Any]) -> None:
    random.choice(_numbers(tree)).put(random.choice((0, 0.0, -0.0, 1e-12, 1e-6)))


def _placed(random: Random, tree: dict[str, Any]) -> None:
    part = random.choice(tree["parts"])
    match random.randrange(3):
        case 0:
            part["at"] = [random.choice((0, 0, 0.01, -0.3, 0.5)) for _ in range(3)]
        case 1:
            part["rotate"] = [random.choice(ANGLES) for _ in range(3)]
        case _:
            part["stretch"] = [random.choice((1, 1, 0.9, 1.2, 1 + 1e-9)) for _ in range(3)]


def solid(random: Random, size: float) -> dict[str, Any]:
    """Return a solid of about a size."""
    a, b, c = (round(size * random.uniform(0.3, 1.0), random.choice((1, 3, 9))) for _ in range(3))
    return random.choice((
        {"kind": "sphere", "diameter": a},
        {"kind": "spheroid", "diameter": a, "height": b},
        {"kind": "ellipsoid", "diameters": random.choice(([a, b, c], [a, a, b], [a, a, a]))},
        {"kind": "cylinder", "diameter": a, "height": b},
        {"kind": "cone", "bottom": a, "top": random.choice((0, a, b)), "height": c},
        {"kind": "capsule", "diameter": min(a, b), "height": max(a, b)},
        {"kind": "dome", "sphere": max(a, b), "height": min(a, b) * random.choice((0.5, 0.999,
        1.0))},
        {"kind": "ring", "diameter": a, "thickness": min(b, a) * random.choice((0.3, 0.5, 0.999))},
        {"kind": "box", "size": [a, b, c]},
        {"kind": "revolved", "outline": [[0, -c / 2], [a / 2, -c / 2, random.choice((0, 0.2,
        -0.1))], [b / 2, c / 2], [0, c / 2]]},
        {"kind": "extruded", "outline": [[-a / 2, -b / 2], [a / 2, -b / 2, 0.3], [a / 2, b / 2],
        [-a / 2, b / 2]], "height": c},
    ))  # fmt: skip


def _shaped(random: Random, tree: dict[str, Any]) -> None:
    part = random.choice(tree["parts"][1:] or tree["parts"])
    size = 90 if tree.get("units", {}).get("length") == "mm" else 3.6
    part.pop("shape", None)
    part.pop("shapes", None)
    if random.random() < 0.6:
        part["shape"] = solid(random, size)
        return
    part["shapes"] = [
        solid(random, size) | {"at": [0, 0, random.choice((0, 0.1 * size))]}
        for _ in range(random.choice((1, 2, 2, 3)))
    ]
    if random.random() < 0.5:
        part["minus"] = [
            solid(random, size / 2)
            | {"at": [0, 0, 0.2 * size], "rotate": [random.choice(ANGLES), 0, 0]}
        ]


def _parts(random: Random, tree: dict[str, Any]) -> None:
    parts = tree["parts"]
    match random.randrange(4):
        case 0 if len(parts) > 1:
            del parts[random.randrange(1, len(parts))]
        case 1:
            parts.reverse()
        case 2 if len(parts) > 1:
            one, other = random.choice(parts), random.choice(parts)
            one["inside"] = random.choice(
                (other.get("name"), [other.get("inside"), other.get("name")])
            )
        case _:
            new = deepcopy(random.choice(parts))
            new["name"] = f"{new.get('name')} 2"
            parts.append(new)


def _shared(random: Random, tree: dict[str, Any]) -> None:
    labels, part = list(tree["weights"]), random.choice(tree["parts"])
    half = random.randint(0, len(labels))
    if random.random() < 0.3:
        part["only_in"] = labels[:half] or labels
    else:
        part["same_density"] = random.choice((*SAME, [labels[:half], labels[half:]], [labels]))


def _material(random: Random, tree: dict[str, Any]) -> None:
    material = random.choice(list(tree["materials"].values()))
    low, high = sorted((round(random.uniform(0.3, 3), 2), round(random.uniform(0.3, 3), 2)))
    factor = 1000 if tree.get("units", {}).get("density") == "kg/m3" else 1
    match random.randrange(5):
        case 4 if "recipe" in material:
            stocks = random.choices(("polyester", "epoxy", "polyurethane"), k=2)
            bounds = {"min": 0.3, "max": 0.8, "same": random.choice(SAME)}
            material["recipe"] |= {"resin": stocks, "share": random.choice((0, 0.6, bounds))}
        case 0:
            material["density"] = [low * factor, high * factor]
        case 1:
            material["density"] = low * factor
        case 2:
            material["tolerance"] = random.choice((0.001, 0.5, 1e-9)) * factor
        case _:
            material["step"] = random.choice((0.01, 0.1, 1.0)) * factor


def _targeted(random: Random, tree: dict[str, Any]) -> None:
    target = tree.setdefault("target", {})
    figure, inch = random.choice(FIGURES), 25.4 if tree.get("units", {}).get("rg") == "mm" else 1
    about = {
        "rg": 2.55,
        "differential": 0.03,
        "intermediate_differential": 0.01,
        "cg_offset": 0.05,
    }[figure]
    value = about * inch * random.choice((0, 0.9, 1, 1, 1.02, 1.5))
    match random.randrange(4):
        case 0:
            target[figure] = value
        case 1:
            target[figure] = {"min": 0.9 * value, "max": random.choice((1.1 * value, 0.9 * value))}
        case 2:
            target.pop(figure, None)
        case _:
            target["about"] = random.choice(("cg", "centre"))
    if isinstance(target.get("tolerance"), dict) and figure in target:
        target["tolerance"].setdefault(figure, 0.001 * inch)


def _weights(random: Random, tree: dict[str, Any]) -> None:
    weights = tree["weights"]
    unit = 0.4536 if tree.get("units", {}).get("weight") == "kg" else 1
    match random.randrange(3):
        case 0 if len(weights) > 1:
            del weights[random.choice(list(weights))]
        case 1:
            weights[random.choice(list(weights))] = random.choice((4, 8, 12, 15.5, 16, 20)) * unit
        case _:
            weights[random.choice(("10", "8", "15.5", "light"))] = (
                random.choice((8, 10, 12, 15.5)) * unit
            )


def _limits(random: Random, tree: dict[str, Any]) -> None:
    limits = tree.setdefault("limits", {})
    match random.randrange(6):
        case 0:
            limits.clear()
        case 1:
            limits["top_weight"] = {
                "min": random.choice((-3, 0, 1, 3)),
                "max": random.choice((0, 1, 3, 4)),
                "tolerance": 0.25,
            }
        case 2:
            limits["pin_distance"] = {
                "min": random.choice((0, 2)),
                "max": random.choice((2, 4, 13)),
                "tolerance": 0.2,
            }
        case 3:
            limits["density_step"] = {"max": random.choice((0, 0.1, 1)), "tolerance": 0.02}
            if random.random() < 0.5:
                pair = random.choices([part.get("name") for part in tree["parts"]], k=2)
                least = random.choice((0.01, 0.1, 0.5))
                named = {"denser": pair[0], "than": pair[1], "min": least}
                limits["density_step"]["between"] = [named]
        case 4:
            limits["intermediate_differential"] = {
                "max": random.choice((0, 0.002, 0.1)),
                "tolerance": 0.001,
            }
        case _:
            limits["rulebook"] = {"name": "usbc", "all_weights": True}


def _freed(random: Random, tree: dict[str, Any]) -> None:
    """Give a length of a part to the solver."""
    every = [p for p in _numbers([part.get("shape", {}) for part in tree["parts"][1:]]) if p.value]
    if every:
        place = random.choice(every)
        value = place.value
        tree.setdefault("dimensions", {})["free"] = random.choice((
            value, {"min": 0.9 * value, "max": 1.1 * value}, {"one_of": [value, 1.1 * value]},
            {"min": value, "max": value * (1 + 1e-9)}, {"each": dict.fromkeys(tree["weights"],
            value)},
        ))  # fmt: skip
        place.put("free")


CHANGES: Final[Sequence[Callable[[Random, dict[str, Any]], None]]] = (
    *[_scaled] * 5, _equal, _equal, _zero, _placed, _placed, _shaped, _shaped, _shaped, _parts,
    _shared, _material, _material,
    _targeted, _targeted, _weights, _limits, _freed,
)  # fmt: skip
