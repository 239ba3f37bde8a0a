"""The report's page: it says what it is of, proves it, and carries all that it was made from."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest
from answers import example, reachable
from oracles import printed

from optimizer.paper.document import Attached, Chart, Page, Pictures, Table
from optimizer.paper.quantities import Units
from optimizer.paper.writers import html_
from optimizer.questions.line_up.data import NAME, solution
from optimizer.questions.report.page import overview
from optimizer.questions.report.proof import both_ways, by_surfaces, volume_table
from optimizer.questions.schedule.pouring.worksheet import worksheet
from optimizer.questions.window.window import window
from shared.units import INCH


@pytest.fixture(scope="module")
def result():
    return example("juniper")


@pytest.fixture(scope="module")
def told(result):
    return overview(result, None, reachable("juniper"))


def test_the_same_result_gives_the_same_bytes(result, told):
    again = overview(result, None, window(result.scenario))
    assert html_.encoded(again) == html_.encoded(told)


def test_the_page_carries_scenario_and_solution(result, told):
    (carried,) = [block for block in told.blocks if isinstance(block, Attached)]
    assert carried.name == NAME
    assert json.loads(json.dumps(carried.data)) == json.loads(json.dumps(solution(result)))
    assert any(
        isinstance(block, Chart) and "\n".join(block.lines) == result.scenario.source.rstrip("\n")
        for block in told.blocks
    )


def test_every_weight_has_its_proof(result, told):
    names = [block.name for block in told.blocks if isinstance(block, Page)]
    assert [f"Proof, {label} lb" for label in ("16", "15", "14", "13")] == [
        name for name in names if name.startswith("Proof")
    ]


def test_names_of_pictures_are_found_once(told):
    names = [one.name for b in told.blocks if isinstance(b, Pictures) for one in b.shown]
    assert len(names) == len(set(names))
    content = html_.encoded(told).decode()
    ids = re.findall(r"\bid=['\"]([^'\"]+)['\"]", content)
    assert len(ids) == len(set(ids))


def test_the_second_way_agrees_with_the_first_and_with_an_oracle(result):
    """The oracle takes the parts as JSON prints them, and slices each solid."""
    for weight, row in zip(result.weights, solution(result)["weights"], strict=True):
        ours, other = weight.ball.properties, by_surfaces(weight.ball)
        mass, radii = printed.figures(row["parts"], row["densities_g_cm3"], "cg", INCH)
        assert other.mass == pytest.approx(mass, rel=1e-8)
        assert np.allclose(other.about_cg.radii, radii, rtol=1e-8)
        assert np.allclose(ours.about_cg.radii, other.about_cg.radii, rtol=1e-12)
        assert all(
            one.apart == "under 1e-09 of it" for one in both_ways(weight.ball, _units(result))
        )


def _units(result):
    return Units.of(result.scenario)


def test_what_differs_is_told_as_a_number(result, monkeypatch):
    """A shape whose own moments were a thousandth off would be seen."""
    ball = result.weights[0].ball
    wrong = by_surfaces(ball)
    monkeypatch.setattr(
        "optimizer.questions.report.proof.by_surfaces",
        lambda _: type(wrong)(wrong.moments * 1.001),
    )
    first = next(iter(both_ways(ball, _units(result))))
    assert first.apart == "1.6e-02 lb"


def test_a_pocket_calculator_comes_to_the_printed_masses(result):
    """Volume × density, rounded half to even to 0.01 g, and the running sum."""
    for weight in result.weights:
        table = volume_table(worksheet(weight.ball), Units.of(result.scenario).density)
        running = 0.0
        for _, _, volume, density, mass, total in table.rows:
            assert float(mass) == pytest.approx(float(volume) * float(density), abs=0.00501)
            running += float(mass)
            assert float(total) == pytest.approx(running, abs=1e-6)
        assert running == pytest.approx(weight.ball.properties.mass, abs=0.05)


def test_the_page_is_under_500_kb(told):
    assert len(html_.encoded(told)) < 500_000


def test_tables_of_the_page_have_their_widths_in_the_style(told):
    """The policy forbids styles on elements."""
    content = html_.encoded(told).decode()
    assert " style=" not in content
    assert sum(isinstance(block, Table) for block in told.blocks) == content.count("<table ")
