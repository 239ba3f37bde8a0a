"""A dimension of the drawing among the changes that would do."""

from __future__ import annotations

import numpy as np
import pytest
from answers import solved
from optimizer_texts import SHELLS, read, shipped

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.pipeline import solve_lineup
from optimizer.questions.why_not.changes.redrawn import least_redrawing, redrawings
from optimizer.questions.why_not.diagnosis import diagnose
from optimizer.scenario.source.editing import edited

ELDER = shipped("elder")


def test_the_least_move_of_a_concentric_mantle_is_that_of_its_closed_form():
    """The heavy cover comes down to its greatest density.

    1 − s² = (1 − κ)/(1 − high/μ), s = d/2R, as for the optimum of concentric spheres.
    """
    high = 1.10
    text = SHELLS.replace("bed = { min = 100.0, max = 200.0 }", "bed = 150.0")
    asked = read(text.replace("[0.90, 1.27]", f"[0.80, {high}]"))
    assert solve_lineup(asked).status == "infeasible"
    (move,) = redrawings(asked)
    nearest = {"a": np.array([1.1, 1.5]), "b": np.array([1.0, 1.5])}
    amount = least_redrawing(asked, move, nearest, LinearSolver())
    R = 10.85
    mu = 7000.0 / (4 / 3 * np.pi * R**3)
    kappa = 6.6**2 / (0.4 * R**2)
    bed = 2 * R * np.sqrt(1 - (1 - kappa) / (1 - high / mu))
    assert 15.0 + amount == pytest.approx(bed, abs=1e-6)


@pytest.mark.slow
def test_what_is_told_does_and_a_little_less_does_not():
    """Elder as it starts, each dimension one number: a taller spindle alone would do."""
    text = ELDER
    for name, value in (("belly", 3.30), ("tall", 6.10), ("lift", 0.30)):
        start = text.index(f"\n{name} ") + 1
        text = f"{text[:start]}{name} = {value}{text[text.index(chr(10), start) :]}"
    result = solve_lineup(read(text), exact=True)
    assert result.status == "infeasible"
    diagnosis = diagnose(result)
    drawn = [r for r in diagnosis.remedies if r.changes[0].name == "dimension"]
    assert [r.changes[0].about for r in drawn] == ["tall"]
    assert {m.about for m in diagnosis.not_enough if m.name == "dimension"} == {"belly", "lift"}
    (change,) = drawn[0].changes
    assert change.path == ("dimensions", "tall")
    assert solved(drawn[0].text).status == "feasible"
    shorter = 6.10 + 0.99 * (change.to - 6.10 - 0.001)
    again = read(edited(text, {change.path: shorter}))
    assert solve_lineup(again, exact=True).status == "infeasible"


def test_the_balls_own_size_is_no_remedy():
    text = ELDER.replace("diameter = 8.580", 'diameter = "ball"').replace(
        "[dimensions]", "[dimensions]\nball = 8.58"
    )
    asked = read(text.replace("= 0.048", "= 0.090"))
    assert "ball" not in {move.about for move in redrawings(asked)}
