"""Answers with dimensions in them, as printed: read again by an oracle from their own numbers."""

from __future__ import annotations

import pytest
from optimizer_texts import head, read
from oracles import printed

from optimizer.lineup.moulds.starts import Starts
from optimizer.lineup.pipeline import solve_lineup
from optimizer.questions.line_up.data import solution

INCH, POUND = 2.54, 453.59237

WEIGHTS = {"16": 15.90, "15": 15.12, "14": 14.12}
BALL = """
[materials]
shell = { density = [1.12, 1.22], tolerance = 0.010 }
light = { density = [0.62, 1.45], tolerance = 0.015 }
filled = { density = [1.00, 2.90], tolerance = 0.025 }
dense = { density = [1.60, 3.60], tolerance = 0.030 }
[limits]
rulebook = "usbc"
top_weight = { min = 1.0, max = 4.0, tolerance = 0.25 }
wall = { min = 0.20, tolerance = 0.02 }
[[parts]]
name = "cover"
shape = { kind = "sphere", diameter = 8.58 }
material = "shell"
[[parts]]
name = "mantle"
inside = "cover"
shape = { kind = "sphere", diameter = "bed" }
material = "light"
"""
PARTS = """
[[parts]]
name = "block"
inside = "mantle"
shape = {block}
at = [0, 0, "lift"]
material = "filled"
[[parts]]
name = "keel"
inside = "block"
shape = {keel}
at = [0, 0, 0.20]
material = "dense"
[[parts]]
name = "girdle"
inside = "mantle"
shape = {girdle}
material = "filled"
[dimensions]
bed = {{ min = 7.20, max = 7.60 }}
belly = {{ min = 2.80, max = 3.80 }}
lift = {{ min = 0.00, max = 0.45, same = {same} }}
band = {{ min = 4.40, max = 5.40 }}
"""
RING = '{ kind = "ring", diameter = "band", thickness = 0.80 }'
LINES = {
    "spheroid, capsule, ring": {
        "block": '{ kind = "spheroid", diameter = "belly", height = 6.2 }',
        "keel": '{ kind = "capsule", diameter = 2.0, height = 4.6 }',
        "girdle": RING,
        "same": '"all"',
        "differential": 0.046,
    },
    "cylinder, cone, ring": {
        "block": '{ kind = "cylinder", diameter = "belly", height = 5.4 }',
        "keel": '{ kind = "cone", bottom = 2.4, top = 1.2, height = 4.0 }',
        "girdle": RING,
        "same": '[["16", "15"], ["14"]]',
        "differential": 0.040,
    },
    "capsule, ellipsoid, ring": {
        "block": '{ kind = "capsule", diameter = "belly", height = 6.0 }',
        "keel": '{ kind = "ellipsoid", diameters = [1.8, 1.8, 4.4] }',
        "girdle": RING,
        "same": '"none"',
        "differential": 0.040,
    },
}


@pytest.mark.turns(6)
@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("name", LINES)
def test_what_is_printed_is_true_by_other_means(name, about):
    """Walls by sampled surfaces to 1e-4 in; weight and RGs by quadrature within the tolerances."""
    line = LINES[name]
    text = head("Hazel", WEIGHTS, (2.55, line["differential"]), about=about)
    text += BALL + PARTS.format_map(line)
    asked = read(text)
    result = solve_lineup(asked, Starts(count=2))
    assert result.status == "feasible"
    data = solution(result)
    moulds = []
    for weight, (label, pounds) in zip(data["weights"], WEIGHTS.items(), strict=True):
        assert weight["label"] == label
        parts, densities = weight["parts"], weight["densities_g_cm3"]
        mass, radii = printed.figures(parts, densities, about, INCH)
        assert mass / POUND == pytest.approx(pounds, abs=0.06)
        assert radii[0] / INCH == pytest.approx(2.55, abs=0.003)
        assert (radii[2] - radii[0]) / INCH == pytest.approx(line["differential"], abs=0.001)
        assert radii[0] / INCH == pytest.approx(weight["rg_low_in"], abs=1e-6)
        moulds.append(parts)
    for k, parts in enumerate(moulds):
        if parts not in moulds[:k]:
            for _, _, apart in printed.gaps(parts):
                assert apart >= 0.20 - 1e-4
