"""Random lines as a user would write them, about half of them planted, and what they ask.

Planted: densities are drawn, the oracle measures the balls, and what it measured is asked for. So a
line-up is known to exist, whatever a solver says. The others ask for something else.
"""

from __future__ import annotations

import tomllib

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from random import Random
from typing import Any, Final

import numpy as np
from scipy.optimize import least_squares
from truth.compounds import part_moments
from truth.parts import Part, in_millimetres, parts
from truth.solids import MESHED

INCH, POUND, OUNCE = 2.54, 453.59237, 28.349523125
Span = tuple[float, float]
FIGURES: Final = ("rg", "differential", "intermediate_differential", "cg_offset")


@dataclass
class Line:
    """A line of balls: units in cm and g; figures and limits as the text states them.

    `target` are spans, in cm, `limits` as in the text but in inches and g/cm³; `same` the parts
    with one density in every weight; `planted` densities (weights, parts) that meet it all, if known.
    """

    name: str
    units: Mapping[str, str]
    parts: list[Part]
    materials: list[Span]
    spread: list[float]
    weights: dict[str, float]
    target: dict[str, Span]
    allowed: dict[str, float]
    about: str
    same: set[int] = field(default_factory=set)
    limits: dict[str, dict[str, float]] = field(default_factory=dict)
    rulebook: bool = False
    exact: bool = False
    planted: np.ndarray | None = None
    digits: int | None = None
    kind: str = "planted"

    @property
    def length(self) -> float:
        """The text's unit of length, cm."""
        return INCH if self.units["length"] == "in" else 0.1

    @property
    def radius(self) -> float:
        """The ball's, cm."""
        return float(self.parts[0]["shape"]["diameter"]) / 2 * self.length

    @cached_property
    def hosts(self) -> list[int | None]:
        """The number of each part's host."""
        names = [part["name"] for part in self.parts]
        return [names.index(part["inside"]) if "inside" in part else None for part in self.parts]

    @cached_property
    def _measured(self) -> tuple[np.ndarray, float]:
        whole = [part_moments(part, self.length) for part in self.parts]
        own = np.array([J for J, _ in whole])
        for number, host in enumerate(self.hosts):
            if host is not None:
                own[host] -= whole[number][0]
        return own, max(error for _, error in whole)

    @property
    def moments(self) -> np.ndarray:
        """The oracle's moments of each part's own material, (n, 4, 4), g/cm³ and cm."""
        return self._measured[0]

    @property
    def error(self) -> float:
        """How far off they may be, relative to each part."""
        return self._measured[1]

    @cached_property
    def on_axis(self) -> bool:
        """Whether every part has its centroid and principal axes along the pin, x and y."""
        J = self.moments
        off = np.abs([J[:, 0, 3], J[:, 1, 3], J[:, 0, 1], J[:, 0, 2], J[:, 1, 2]])
        size = np.max(J[:, 3, 3]) * np.array([1, 1, 10, 10, 10])[:, None]
        return bool(np.all(off < 1e-7 * size))

    def files(self) -> dict[str, bytes]:
        """Return the line's files by name; the scenario is x.toml."""
        meshed = MESHED if "waist.stl" in self.text() else {}
        return {"x.toml": self.text().encode(), **meshed}

    def number(self, value: float) -> str:
        """Return a number as the text has it."""
        return repr(float(value)) if self.digits is None else f"{value:.{self.digits}g}"

    @property
    def sizes(self) -> dict[str, float]:
        """What the text's numbers are of each quantity of one g or cm."""
        u = self.units
        rg = 1 / INCH if u["rg"] == "in" else 10.0
        return {key: rg for key in FIGURES} | {
            "cg_offset": 1 / self.length,
            "weight": 1 / POUND if u["weight"] == "lb" else 0.001,
            "density": 1.0 if u["density"] == "g/cm3" else 1000.0,
        }

    def limit_size(self, key: str) -> float:
        """Return what the text's numbers are of a limit's, in inches, oz or g/cm³."""
        match key:
            case "density_step":
                return self.sizes["density"]
            case "top_weight":
                return 1.0
            case "intermediate_differential":
                return INCH * self.sizes[key]
        return INCH / self.length

    def text(self) -> str:
        """Return the scenario."""
        u, n, size = self.units, self.number, self.sizes
        lines = [f'name = "{self.name}"', 'revision = "A"', "[units]"]
        lines += [f'{key} = "{unit}"' for key, unit in u.items()]
        lines += ["[target]", f'about = "{self.about}"']
        for key, (low, high) in self.target.items():
            low, high = low * size[key], high * size[key]
            one = n(low) if low == high else f"{{ min = {n(low)}, max = {n(high)} }}"
            lines.append(f"{key} = {one}")
        allowed = ", ".join(f"{key} = {n(one * size[key])}" for key, one in self.allowed.items())
        lines += [f"tolerance = {{ {allowed} }}", "[weights]"]
        lines += [f'"{label}" = {n(m * size["weight"])}' for label, m in self.weights.items()]
        for number, ((low, high), spread) in enumerate(
            zip(self.materials, self.spread, strict=True)
        ):
            low, high, spread = (one * size["density"] for one in (low, high, spread))
            one = n(low) if low == high else f"[{n(low)}, {n(high)}]"
            lines += [f"[materials.m{number}]", f"density = {one}", f"tolerance = {n(spread)}"]
        for number, part in enumerate(self.parts):
            lines.append("[[parts]]")
            lines += [f"{key} = {_value(one)}" for key, one in part.items()]
            lines.append(f'material = "m{number}"')
            if number in self.same:
                lines.append('same_density = "all"')
        lines.append("[limits]")
        lines += ['rulebook = "usbc"'] * self.rulebook
        for key, limit in self.limits.items():
            ends = (f"{end} = {n(self.limit_size(key) * one)}" for end, one in limit.items())
            lines.append(f"{key} = {{ {', '.join(ends)} }}")
        return "\n".join(lines) + "\n"


def _value(value: Any) -> str:
    match value:
        case str():
            return f'"{value}"'
        case dict():
            return "{ " + ", ".join(f"{key} = {_value(one)}" for key, one in value.items()) + " }"
        case list() | tuple():
            return "[" + ", ".join(map(_value, value)) + "]"
    return repr(value)


def figures(line: Line, x: np.ndarray) -> dict[str, np.ndarray]:
    """Return what balls of densities (k, n) measure: g, cm, oz; each (k,) but `cg` (k, 3)."""
    J = np.tensordot(x, line.moments, axes=1)
    mass = J[:, 3, 3]
    c = J[:, :3, 3] / mass[:, None]
    second = J[:, :3, :3] / mass[:, None, None]
    radii = {}
    for about in ("centre", "cg"):
        if about == "cg":
            second = second - c[:, :, None] * c[:, None, :]
        inertia = np.trace(second, axis1=1, axis2=2)[:, None, None] * np.eye(3) - second
        radii[about] = np.sqrt(np.maximum(np.linalg.eigvalsh(inertia), 0.0))
    offset = np.linalg.norm(c, axis=1)
    low, middle, high = radii[line.about].T
    return {
        "mass": mass, "cg": c, "cg_offset": offset, "rg": low, "differential": high - low,
        "intermediate_differential": high - middle, "top_weight": offset * mass / line.radius / OUNCE,
        "radii": radii[line.about], "radii_centre": radii["centre"], "radii_cg": radii["cg"],
        "pin_distance": line.radius * np.arctan2(np.hypot(c[:, 0], c[:, 1]), c[:, 2]),
    }  # fmt: skip


def line(seed: int, number: int) -> Line:
    """Return a line by its number: the same again for the same seed."""
    random = Random(f"line {seed} {number}")
    while True:
        if drawn := _drawn(random, number):
            return drawn


def _drawn(random: Random, number: int) -> Line | None:
    units = {
        "length": random.choice(("in", "mm")), "weight": random.choice(("lb", "kg")),
        "density": random.choice(("g/cm3", "kg/m3")), "rg": random.choice(("in", "mm")),
    }  # fmt: skip
    badly = random.random() < 0.12
    count = random.choice((1, 2, 3, 3, 4, 4, 4, 5, 5, 5, 6, 6, 7, 8, 9, 10, 12))
    tree = parts(random, count, on_axis=random.random() < 0.6, tiny=badly)
    n = len(tree.parts)
    drawn = tree.parts if units["length"] == "in" else [in_millimetres(one) for one in tree.parts]
    base = np.array(
        [random.uniform(1.0, 1.3), random.uniform(0.5, 1.5)][:n]
        + [random.uniform(0.6, 3.6) for _ in range(n - 2)]
    )
    if badly and n > 2:
        for _ in range(random.choice((1, 2))):
            base[random.randrange(1, n)] = random.choice((0.06, 19.0))
    made = Line(
        f"Line {number}", units, drawn, [(1.0, 1.0)] * n, [0.02] * n, {}, {}, {},
        random.choice(("cg", "cg", "centre")),
    )  # fmt: skip
    if np.any(made.moments[:, 3, 3] <= 0):
        return None
    asked = ["rg", "differential"]
    if n > 3:
        asked += [
            key for key, share in ((FIGURES[2], 0.15), (FIGURES[3], 0.1)) if random.random() < share
        ]
    planted = _planted(random, made, base, asked)
    made.planted = planted
    _ask(random, made, asked, tree.gap, badly=badly)
    if random.random() < 0.5:
        for _ in range(random.choice((1, 1, 2))):
            random.choice(MOVES)(random, made)
        made.planted, made.kind = None, "moved"
    if badly:
        made.kind += ", badly scaled"
    _read_back(made)
    return made


def _read_back(made: Line) -> None:
    """Take the numbers for what the text says, which may have fewer digits."""
    text, size = tomllib.loads(made.text()), made.sizes

    def span(value: Any, key: str) -> Span:
        low, high = (
            value.values()
            if isinstance(value, dict)
            else value
            if isinstance(value, list)
            else (value, value)
        )
        return float(low) / size[key], float(high) / size[key]

    target = text["target"]
    made.weights = {label: span(one, "weight")[0] for label, one in text["weights"].items()}
    made.target = {key: span(target[key], key) for key in made.target}
    made.allowed = {key: span(one, key)[0] for key, one in target["tolerance"].items()}
    materials = text["materials"].values()
    made.materials = [span(one["density"], "density") for one in materials]
    made.limits = {
        key: {end: one / made.limit_size(key) for end, one in text["limits"][key].items()}
        for key in made.limits
    }


def _planted(random: Random, made: Line, base: np.ndarray, asked: list[str]) -> np.ndarray:
    """Return densities (weights, n) with the same figures in every weight.

    A ball with all its densities scaled has the same RGs: from there, others are sought.
    """
    n, count = len(base), random.choice((1, 1, 2, 2, 3, 3, 4, 4, 5, 6, 8, 12))
    wanted = figures(made, base[None])
    if n > len(asked) + 1 and random.random() < 0.5:
        made.same = set(random.sample(range(n), random.choice((1, 1, 2))))
    rows = [base]
    for scale in sorted((random.uniform(0.6, 1.0) for _ in range(count - 1)), reverse=True):
        free = [i for i in range(n) if i not in made.same]
        start = base * scale
        start[list(made.same)] = base[list(made.same)]
        start[free] *= [random.uniform(0.93, 1.07) for _ in free]

        def off(x: np.ndarray, start: np.ndarray = start, free: list[int] = free) -> np.ndarray:
            whole = start.copy()
            whole[free] = x
            got = figures(made, whole[None])
            return np.array([got[key][0] - wanted[key][0] for key in asked])

        found = None
        if len(free) > len(asked):
            found = least_squares(
                off, np.clip(start[free], 0.0501, 24), bounds=(0.05, 25.0),
                xtol=1e-15, ftol=1e-15, gtol=1e-15,
            )  # fmt: skip
        if found is not None and np.max(np.abs(found.fun)) < 1e-10:
            row = start.copy()
            row[free] = found.x
        elif made.same:
            continue
        else:
            row = base * scale
        if np.min(row) < 0.05:
            continue
        rows.append(row)
    return np.array(rows)


def _ask(random: Random, made: Line, asked: list[str], gap: float, *, badly: bool) -> None:
    """State what the planted balls measure, and limits that they keep."""
    x = made.planted
    assert x is not None
    got = figures(made, x)
    made.digits = random.choice((None, None, 6, 5))
    for number, mass in enumerate(got["mass"]):
        made.weights[f"{mass / POUND:.3f} {'ABCDEFGHIJKLM'[number]}"] = float(mass)
    for key in asked:
        value = float(got[key][0])
        made.target[key] = (value, value)
        if random.random() < 0.12:
            made.target[key] = (
                value * random.uniform(0.97, 1),
                value * random.uniform(1.001, 1.03),
            )
    factor = random.choice((1e-3, 0.03, 1)) if badly else random.choice((0.3, 1, 1, 1, 2))
    made.allowed = {"weight": 0.06 * POUND * factor, "rg": 0.003 * INCH * factor,
        "differential": 0.001 * INCH * factor}  # fmt: skip
    made.allowed |= {
        key: (0.001 if key != "cg_offset" else 0.003) * INCH * factor for key in asked[2:]
    }
    for part in range(x.shape[1]):
        low, high = float(np.min(x[:, part])), float(np.max(x[:, part]))
        tight = random.choice((0.002, 0.05, 0.2, 0.4))
        span = (
            max(low * (1 - random.random() * tight), 0.05),
            high * (1 + random.random() * tight),
        )
        if low == high and random.random() < 0.25:
            span = (low, low)
        made.materials[part] = span
        made.spread[part] = random.choice((0.01, 0.02, 0.03))
        if badly and random.random() < 0.4:
            made.spread[part] = random.choice((1.01e-5 * span[0], 0.95 * span[0]))
            made.spread[part] = random.choice(
                (made.spread[part], *[made.spread[part]] * 9, 1e-6, 10.0)
            )
    top, pin = got["top_weight"], got["pin_distance"] / INCH
    inner = got["intermediate_differential"] / INCH
    step = max(
        (abs(x[:, i] - x[:, h]).max() for i, h in enumerate(made.hosts) if h is not None),
        default=0.0,
    )
    some = {
        "top_weight": {"max": float(top.max()) * 1.05 + 0.01, "tolerance": 0.25},
        "pin_distance": {"max": float(pin.max()) * 1.05 + 0.02, "tolerance": 0.2},
        "density_step": {"max": float(step) * 1.02 + 0.01, "tolerance": 0.02},
        "intermediate_differential": {"max": float(inner.max()) * 1.05 + 1e-4, "tolerance": 0.0005},
        "wall": {"min": 0.3 * min(gap, 1.0), "tolerance": 0.02},
    }  # fmt: skip
    if random.random() < 0.5 and top.min() > 0.1:
        some["top_weight"]["min"] = float(top.min()) * 0.9
    made.limits = {key: limit for key, limit in some.items() if random.random() < 0.35}
    made.exact = random.random() < 0.15
    J = made.moments
    round_ = made.on_axis and np.all(abs(J[:, 0, 0] - J[:, 1, 1]) < 1e-9 * J[0, 0, 0])
    made.rulebook = bool(round_ and x.max() < 3.6 and random.random() < 0.4)


def _rg(random: Random, made: Line) -> None:
    factor = 1 + random.choice((-1, 1)) * random.choice((0.003, 0.01, 0.03, 0.08))
    made.target["rg"] = tuple(factor * end for end in made.target["rg"])


def _differential(random: Random, made: Line) -> None:
    factor, more = random.choice((0.3, 0.7, 1.3, 2.0)), random.choice((0.0, 0.01, 0.03))
    made.target["differential"] = tuple(factor * end + more for end in made.target["differential"])


def _mass(random: Random, made: Line) -> None:
    label = random.choice(list(made.weights))
    made.weights[label] *= 1 + random.choice((-1, 1)) * random.choice((0.01, 0.05, 0.15))


def _range(random: Random, made: Line) -> None:
    part = random.randrange(len(made.materials))
    low, high = made.materials[part]
    factor = random.uniform(0.85, 1.15)
    low = max(low, 0.06)
    made.materials[part] = (low * factor, (low + (high - low) * random.random()) * factor)


def _limit(random: Random, made: Line) -> None:
    made.limits["top_weight"] = {"max": random.choice((0.05, 0.5, 2.0)), "tolerance": 0.25}
    if random.random() < 0.5:
        made.limits["density_step"] = {"max": random.choice((0.2, 0.6)), "tolerance": 0.02}


MOVES: Final = (_rg, _rg, _differential, _differential, _mass, _range, _limit)
