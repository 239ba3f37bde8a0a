"""The shipped scenarios: each reads without a warning, and does what it says under [expected]."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from answers import example
from optimizer_texts import FOLDER, SCENARIOS

from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL
from optimizer.scenario import Scenario, linear_maps, read_scenario


def _named(stem: str) -> Scenario:
    return read_scenario(FOLDER / f"{stem}.toml", target_required=True)


def test_there_are_scenarios() -> None:
    """Lest the tests below run over nothing."""
    assert {path.stem for path in SCENARIOS} >= {
        "hawthorn",
        "juniper",
        "larch-metric",
        "rowan",
        "two-pours",
        "yew",
    }


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_a_scenario_does_what_it_expects(path: Path) -> None:
    """Status as told; where feasible, with at least one tolerance of room in every margin."""
    scenario = read_scenario(path, target_required=True)
    assert scenario.warnings == ()
    assert path.read_text(encoding="utf-8").startswith("#:schema ./samespin.schema.json\n")
    expected = scenario.text.expected
    assert expected is not None
    result = example(path.stem)
    assert result.status == expected.status
    if expected.status == "feasible":
        assert result.smallest is not None
        assert result.smallest.tolerances is not None
        assert result.smallest.tolerances >= 0.99


def test_two_pours_cannot_hold_one_rg() -> None:
    """One core shape, two pours: RG rises as the weight class falls (common practice, no source).

    The weight alone fixes the block's density ρ = (m − ρ₁V₁)/V₂; low RG² = I_z/m, since the block
    is higher than wide until it is lighter than the cover.
    """
    rg = []
    for linear_map in linear_maps(_named("two-pours")):
        cover = linear_map.pours[0].low
        block = (linear_map.mass - cover * linear_map.volumes[0]) / linear_map.volumes[1]
        assert linear_map.pours[1].low < block < linear_map.pours[1].high
        rg.append(linear_map.ball(np.array([cover, block])).radii.low / 2.54)
    assert rg == sorted(rg)
    assert rg[-1] - rg[0] > 0.1
    assert min(np.diff(rg)) > 0.01


def test_yew_and_hawthorn_ask_for_an_intermediate_differential_and_rowan_is_turned() -> None:
    """What each scenario is there to show."""
    yew, rowan = _named("yew"), _named("rowan")
    assert INTERMEDIATE_DIFFERENTIAL in yew.target
    hawthorn = _named("hawthorn")
    assert INTERMEDIATE_DIFFERENTIAL in hawthorn.target
    assert {part.shape.kind for part in hawthorn.classes[0].parts} >= {"revolved", "extruded"}
    assert {class_drawing.label for class_drawing in hawthorn.classes} == {"16", "15", "14", "13"}
    blocks = [part for part in rowan.classes[0].parts if not part.shape.convex]
    assert {part.name for part in blocks} == {"block", "girdle"}
    assert len(rowan.pours) >= 5
