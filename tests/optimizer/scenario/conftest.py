"""A small sound scenario, to be spoilt in one place at a time."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pytest

from optimizer.scenario import Scenario, scenario

SOUND = """\
name     = "Test"
revision = "A"

[units]
length  = "in"
weight  = "lb"
density = "g/cm3"
rg      = "in"

[target]
rg           = 2.550
differential = 0.042
tolerance    = { weight = 0.06, rg = 0.003, differential = 0.001 }

[weights]
16 = 15.90
15 = { target = 15.12, tolerance = 0.05 }

[dimensions]
wide = 4.00
lift = { each = { 16 = 0.30, 15 = 0.20 } }

[materials.shell]
density   = [1.12, 1.22]
tolerance = 0.010

[materials.light]
density   = 0.80

[[parts]]
name     = "cover"
shape    = { kind = "sphere", diameter = 8.500 }
material = "shell"

[[parts]]
name     = "core"
inside   = "cover"
shape    = { kind = "spheroid", diameter = "wide", height = 6.00 }
at       = [0, 0, "lift"]
material = "light"

[[parts]]
name     = "heart"
inside   = "core"
shape    = { kind = "capsule", diameter = 1.00, height = 4.00 }
material = "light"

[[parts]]
name     = "belt"
inside   = "cover"
shape    = { kind = "ring", diameter = 6.00, thickness = 0.80 }
material = "shell"

[limits]
rulebook   = "usbc"
top_weight = { min = 1.0, max = 4.0, tolerance = 0.25 }
wall       = { min = 0.10, except = [{ between = ["core", "belt"], min = 0.05 }] }
"""

Read = Callable[..., Scenario]


@pytest.fixture
def sound() -> str:
    """Return the text of a sound scenario."""
    return SOUND


@pytest.fixture
def read() -> Read:
    """Return a function that reads the sound scenario with one text in place of another."""

    def reading(
        old: str = "",
        new: str = "",
        *,
        target_required: bool = True,
        densities: Mapping[str, float] | None = None,
    ) -> Scenario:
        assert old in SOUND
        source = SOUND.replace(old, new, 1)
        return scenario(
            source, file="t.toml", target_required=target_required, densities=densities or {}
        )

    return reading
