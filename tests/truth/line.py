"""A line as a scenario's text, and what its balls measure by the oracle."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

import numpy as np
from truth.compounds import part_moments
from truth.parts import Part
from truth.solids import MESHED

INCH, POUND, OUNCE = 2.54, 453.59237, 28.349523125
Span = tuple[float, float]
FIGURES: Final = ("rg", "differential", "intermediate_differential", "cg_offset")


@dataclass
class Line:
    """A line of balls: units in cm and g; figures and limits as the text states them.

    `target` are spans, in cm, `limits` as in the text but in inches and g/cm³; `same` the parts
    with one density in every weight; `planted` densities (weights, parts) that meet it, if known.
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
        return dict.fromkeys(FIGURES, rg) | {
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

    def _span(self, key: str, span: Span) -> str:
        low, high = (self.number(one * self.sizes[key]) for one in span)
        if span[0] == span[1]:
            return low
        return f"[{low}, {high}]" if key == "density" else f"{{ min = {low}, max = {high} }}"

    def text(self) -> str:
        """Return the scenario."""
        u, n, size = self.units, self.number, self.sizes
        lines = [f'name = "{self.name}"', 'revision = "A"', "[units]"]
        lines += [f'{key} = "{unit}"' for key, unit in u.items()]
        lines += ["[target]", f'about = "{self.about}"']
        lines += [f"{key} = {self._span(key, span)}" for key, span in self.target.items()]
        allowed = ", ".join(f"{key} = {n(one * size[key])}" for key, one in self.allowed.items())
        lines += [f"tolerance = {{ {allowed} }}", "[weights]"]
        lines += [f'"{label}" = {n(m * size["weight"])}' for label, m in self.weights.items()]
        for number, (span, spread) in enumerate(zip(self.materials, self.spread, strict=True)):
            lines += [f"[materials.m{number}]", f"density = {self._span('density', span)}"]
            lines += [f"tolerance = {n(spread * size['density'])}"]
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

    def read_back(self) -> None:
        """Take the numbers for what the text says, which may have fewer digits."""
        text, size = tomllib.loads(self.text()), self.sizes

        def span(value: Any, key: str) -> Span:
            ends = list(value.values()) if isinstance(value, dict) else np.ravel(value)
            return float(ends[0]) / size[key], float(ends[-1]) / size[key]

        target = text["target"]
        self.weights = {label: span(one, "weight")[0] for label, one in text["weights"].items()}
        self.target = {key: span(target[key], key) for key in self.target}
        self.allowed = {key: span(one, key)[0] for key, one in target["tolerance"].items()}
        materials = text["materials"].values()
        self.materials = [span(one["density"], "density") for one in materials]
        self.limits = {
            key: {end: one / self.limit_size(key) for end, one in text["limits"][key].items()}
            for key in self.limits
        }


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
    top = offset * mass / line.radius / OUNCE
    return {
        "mass": mass, "cg": c, "cg_offset": offset, "rg": low, "differential": high - low,
        "intermediate_differential": high - middle, "top_weight": top,
        "radii": radii[line.about], "radii_centre": radii["centre"], "radii_cg": radii["cg"],
        "pin_distance": line.radius * np.arctan2(np.hypot(c[:, 0], c[:, 1]), c[:, 2]),
    }  # fmt: skip
