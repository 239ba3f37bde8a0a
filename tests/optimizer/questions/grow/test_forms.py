"""Every part that is tried fits where it is drawn: the reader checks its walls itself."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.questions.grow.forms import forms
from optimizer.questions.grow.space import Space
from optimizer.scenario import read_again, read_scenario
from shared.units import INCH

SCENARIOS = Path(__file__).parents[4] / "scenarios"


@pytest.mark.parametrize("name", ["two-pours", "juniper", "yew", "rowan", "larch-metric"])
@pytest.mark.turns(2)
def test_every_form_reads_at_its_start(name: str) -> None:
    asked = read_scenario(SCENARIOS / f"{name}.toml", target_required=True)
    material, *_ = asked.text.materials
    found = list(forms(asked))
    assert found
    for form in found:
        text = form.text(asked, material)
        open_ = read_again(replace(asked.written, source=text), {})
        starts = {
            free.name: dict.fromkeys(open_.having(free.name), free.start / open_.reading.length)
            for free in open_.free
        }
        assert not read_again(open_.written, starts).open, form.words


def test_the_roomiest_ring_in_a_ball_lies_on_its_equator() -> None:
    """Half as thick as t = R − r, its volume goes by r (R − r)²: most at r = R/3, but not so thick.

    With half thickness at most 0.8 r it is where 0.8 r = R − r, at r = R/1.8.
    """
    asked = read_scenario(SCENARIOS / "two-pours.toml", target_required=True)
    ball = asked.classes[0].parts[0]
    place = Space(ball, ()).ring(0.0)
    radius = ball.shape.model_dump()["diameter"] / 2
    assert abs(place.z) < 0.05 * INCH
    assert place.r == pytest.approx(radius / 1.8, rel=0.05)
    assert place.clear == pytest.approx(0.8 * place.r, rel=0.05)
