"""A bound is one object: it knows its value and its place, and nothing goes by its words."""

from __future__ import annotations

import numpy as np
import pytest
from asked import bound_called
from optimizer_texts import read, shipped

from optimizer.ball.figures import FIGURES
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.pipeline import solve_lineup
from optimizer.questions.why_not.diagnosis import diagnose
from optimizer.scenario import linear_maps

OUT_OF_REACH = ("rg           = 2.550", "rg           = 2.950")
JUNIPER = shipped("juniper")


def test_a_bound_has_its_value_without_any_ball(monkeypatch):
    """As Juniper's text says them: lb, in, oz, g/cm³, by the definitions of inch and pound."""
    (one, *_) = linear_maps(read(JUNIPER))
    monkeypatch.setattr(LinearMap, "ball", lambda *_: pytest.fail("a ball was made"))
    weight = bound_called(one, "class weight")
    assert (weight.low, weight.high) == pytest.approx((15.90 * 453.59237,) * 2)
    assert bound_called(one, "low RG").value == pytest.approx(2.550 * 2.54)
    assert bound_called(one, "top weight max").value == pytest.approx(4.0 * 28.349523125)
    assert bound_called(one, "USBC density max", "keel").value == 3.8
    assert bound_called(one, "wall min", ("keel", "spindle")).value == pytest.approx(0.2 * 2.54)


def test_a_bound_stands_where_the_text_sets_it():
    some = read(JUNIPER)
    lines = JUNIPER.splitlines()
    for one in linear_maps(some):
        for bound in one.bounds:
            line = lines[some.places[bound.path].line - 1]
            words = {"limits": bound.path[1], "weights": one.label, "target": bound.path[-1]}
            assert line.split("=")[0].strip() == words.get(str(bound.path[0]), bound.path[-1])


def test_what_is_held_is_what_the_solver_can_keep():
    """Not the weight, the target or the diameter, which are given; nor walls as they are drawn."""
    (one, *_) = linear_maps(read(JUNIPER))
    assert {b.figure.key for b in one.bounds if b.held(one)} == {"density", "top_weight"}


def _sought(text):
    result = solve_lineup(read(text))
    found = diagnose(result)
    every = [claim for one in found.conflicts for claim in one.claims]
    claims = [(c.figure.key, c.side, c.value, c.of, c.weight) for c in every]
    changes = [(c.path, c.to) for remedy in found.remedies for c in remedy.changes]
    slack = [(m.weight, m.slack) for weight in result.weights for m in weight.margins]
    return result.status, claims, changes, [m.path for m in found.not_enough], slack


def test_nothing_goes_by_the_words_of_a_figure(monkeypatch):
    """With meaningless words the same limits clash, the same changes would do, all to the digit."""
    text = JUNIPER.replace(*OUT_OF_REACH)
    assert text != JUNIPER
    *plain, slack = _sought(text)
    assert plain[0] == "infeasible"
    for number, figure in enumerate(FIGURES.values()):
        monkeypatch.setattr(type(figure), "words", f"min of {number} max")
        monkeypatch.setattr(type(figure), "asked_words", f"rg {number} density min")
    *anew, other = _sought(text)
    assert anew == plain
    assert [label for label, _ in other] == [label for label, _ in slack]
    assert np.allclose([s for _, s in other], [s for _, s in slack], rtol=0, atol=0)
