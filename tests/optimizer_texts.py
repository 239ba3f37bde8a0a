"""Scenarios that several tests read."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from optimizer.scenario import Scenario, scenario

FOLDER = Path(__file__).parents[1] / "scenarios"
SCENARIOS = sorted(FOLDER.glob("*.toml"))
JUNIPER = FOLDER / "juniper.toml"

RANGES = {
    "shell": "[1.12, 1.22]",
    "light": "[0.62, 1.45]",
    "filled": "[1.00, 2.90]",
    "dense": "[1.60, 3.60]",
}
"""The plain ranges that a reference program's figures for the example were found with."""


def read(text: str) -> Scenario:
    """Return the scenario of a text, which must have a target."""
    return scenario(text, file="line.toml", target_required=True)


def shipped(name: str) -> str:
    """Return the text of an example."""
    return (FOLDER / f"{name}.toml").read_text(encoding="utf-8")


def plain_juniper() -> str:
    """Return the text of the example with plain ranges in place of its recipes and steps."""
    text = shipped("juniper")
    for name, ends in RANGES.items():
        text, count = re.subn(
            rf"(\[materials\.{name}\].*\n)recipe .*\n", rf"\1density   = {ends}\n", text
        )
        assert count == 1
    text = re.sub(r"(?m)^step *=.*\n", "", text)
    return re.sub(r"\[ingredients\](?:\n[^#\n].*)+\n", "", text)


INCHES = {"length": "in", "weight": "lb", "density": "g/cm3", "rg": "in"}
METRIC = {"length": "mm", "weight": "kg", "density": "kg/m3", "rg": "mm"}


def head(
    name: str,
    weights: Mapping[str, object],
    target: Sequence[object] = (),
    *,
    revision: str = "A",
    units: Mapping[str, str] = INCHES,
    about: str = "",
    tolerance: Sequence[object] = (0.06, 0.003, 0.001),
) -> str:
    """Return a scenario as far as its weights, a key a line: `target` is RG and differential."""
    lines = [f'name = "{name}"', f'revision = "{revision}"', "[units]"]
    lines += [f'{quantity} = "{unit}"' for quantity, unit in units.items()]
    if target:
        lines += ["[target]", "rg = {}\ndifferential = {}".format(*target)]
        lines += [f'about = "{about}"'] if about else []
        allowed = "weight = {}, rg = {}, differential = {}".format(*tolerance)
        lines.append(f"tolerance = {{ {allowed} }}")
    lines += ["[weights]", *(f"{label} = {weight}" for label, weight in weights.items())]
    return "\n".join(lines) + "\n"


def cover(diameter: float, low: float = 0.6, high: float = 3.0, tolerance: float = 0.02) -> str:
    """Return a free material, "any", and a cover of it."""
    return f"""\
[materials.any]
density = [{low}, {high}]
tolerance = {tolerance}
[[parts]]
name = "cover"
shape = {{ kind = "sphere", diameter = {diameter} }}
material = "any"
"""


SHELLS = head(
    "Shells",
    {"a": 7.0, "b": 6.0},
    (66.0, 0.0),
    units=METRIC | {"density": "g/cm3"},
    about="centre",
    tolerance=(0.03, 0.08, 0.03),
)
SHELLS += """\
[dimensions]
bed = { min = 100.0, max = 200.0 }
[materials.shell]
density   = [0.90, 1.27]
tolerance = 0.01
[materials.light]
density   = [0.1, 3.0]
tolerance = 0.001
[[parts]]
name     = "cover"
shape    = { kind = "sphere", diameter = 217.0 }
material = "shell"
[[parts]]
name     = "mantle"
inside   = "cover"
shape    = { kind = "sphere", diameter = "bed" }
material = "light"
"""
