"""Walls that are drawn exactly as thick as their limit asks keep it."""

from __future__ import annotations

import numpy as np
import pytest
from optimizer_texts import read, shipped

from optimizer.lineup.stating import fixed_and_broken, measured
from optimizer.scenario import linear_maps

PLUG = """[[parts]]
name = "plug"
inside = ["cover", "mantle"]
shape = { kind = "cylinder", diameter = 0.75, height = 0.75 }
at = [0, 0, 3.875]
material = "shell"

[limits]"""


@pytest.mark.parametrize("least", [0.05, 0.10, 0.15, 0.20, 0.25, 0.30])
def test_a_wall_at_its_limit_keeps_it(least: float):
    """Between a spheroid's top and the flat foot of a plug above it, at 3.5 in: broken by 1e-6."""
    text = shipped("juniper").replace("[limits]", PLUG, 1)
    spindle = "height = 6.10 }\nat       = [0, 0, 0.30]"
    assert spindle in text
    drawn = f"height = {2.0 * (3.5 - least - 0.3):.2f} }}\nat       = [0, 0, 0.30]"
    for asked, broken in ((f"{least:.2f}", False), (f"{least + 1e-6:.6f}", True)):
        own = f'except = [{{ between = ["spindle", "plug"], min = {asked} }}, '
        changed = text.replace(spindle, drawn).replace("except = [", own)
        (linear_map, *_) = linear_maps(read(changed))
        middle = np.array([(pour.low + pour.high) / 2.0 for pour in linear_map.pours])
        weight = measured(linear_map.ball(middle), np.array([6.477, 0.1016]))
        between = [set(margin.bound.of) for margin in fixed_and_broken(weight.margins)]
        assert ({"spindle", "plug"} in between) == broken
