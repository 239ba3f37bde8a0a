"""Scenarios that several tests read."""

from __future__ import annotations

import re
from pathlib import Path

JUNIPER = Path(__file__).parents[1] / "scenarios" / "juniper.toml"

RANGES = {
    "shell": "[1.12, 1.22]",
    "light": "[0.62, 1.45]",
    "filled": "[1.00, 2.90]",
    "dense": "[1.60, 3.60]",
}
"""The plain ranges that a reference program's figures for the example were found with."""


def plain_juniper() -> str:
    """Return the text of the example with plain ranges in place of its recipes and steps."""
    text = JUNIPER.read_text(encoding="utf-8")
    for name, ends in RANGES.items():
        text, count = re.subn(
            rf"(\[materials\.{name}\].*\n)recipe .*\n", rf"\1density   = {ends}\n", text
        )
        assert count == 1
    text = re.sub(r"(?m)^step *=.*\n", "", text)
    return re.sub(r"\[ingredients\](?:\n[^#\n].*)+\n", "", text)


SHELLS = """
name     = "Shells"
revision = "A"
[units]
length  = "mm"
weight  = "kg"
density = "g/cm3"
rg      = "mm"
[target]
rg           = 66.0
differential = 0.0
about        = "centre"
tolerance    = { weight = 0.03, rg = 0.08, differential = 0.03 }
[weights]
a = 7.00
b = 6.00
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
