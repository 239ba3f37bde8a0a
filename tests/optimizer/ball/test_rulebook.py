"""The governing body's figures: from the table, with their source, and only where they apply."""

from __future__ import annotations

from dataclasses import replace

import pytest
from asked import margins_of

from optimizer.ball.figures import DIFFERENTIAL, FIGURES, LOW_RG
from optimizer.ball.limits import Rulebook
from optimizer.ball.targets import Span
from shared.reference import table
from shared.units import INCH, POUND

BOOK = table("rulebook")["usbc"]
RULES = {rule["figure"]: rule for rule in BOOK["rules"]}


def _found(ball, **fields):
    rulebook = Rulebook(name="usbc", **fields)
    return {(m.words, m.part): m for m in margins_of(rulebook, ball)}


def _at(ball, pounds):
    """The same ball in a class of another weight."""
    return replace(ball.map, mass=pounds * POUND).ball(ball.densities)


def test_every_rule_has_its_source_grade_and_figure():
    assert BOOK["source"]
    assert BOOK["read"]
    for rule in BOOK["rules"]:
        assert rule["source"]
        assert rule["grade"] in {"A", "B", "C", "D", "S"}
        assert {"min", "max"} & set(rule)
        assert rule["figure"].replace(" ", "_") in FIGURES


def test_the_figures_are_the_manuals():
    """As facts were gathered from secondary copies of the manual; inches and pounds."""
    assert RULES["weight"]["max"] == 16.0
    assert (RULES["diameter"]["min"], RULES["diameter"]["max"]) == (8.5, 8.595)
    assert (RULES["rg"]["min"], RULES["rg"]["max"]) == (2.46, 2.8)
    assert RULES["differential"]["max"] == 0.06
    assert RULES["density"]["max"] == 3.8
    assert RULES["pin marking"]["max"] == 1.0


def test_bounds_come_from_the_table_in_our_units(ball):
    found = _found(_at(ball("tilted 15"), 15.0)) | _found(_at(ball("aligned triaxial"), 15.0))
    expected = {
        "USBC weight max": 16 * POUND,
        "USBC diameter min": 8.5 * INCH,
        "USBC diameter max": 8.595 * INCH,
        "USBC rg min": 2.46 * INCH,
        "USBC rg max": 2.8 * INCH,
        "USBC differential max": 0.06 * INCH,
        "USBC density max": 3.8,
        "USBC pin marking max": INCH,
    }
    assert {limit for limit, _ in found} == set(expected)
    for (limit, _), margin in found.items():
        assert margin.edge == pytest.approx(expected[limit])


def test_a_given_figure_is_only_told(ball):
    """The class weight and the diameter; a fixed target, not a free one; a fixed density."""
    free = _found(_at(ball("aligned"), 15.0))
    told = {limit for (limit, _), margin in free.items() if margin.rule_only}
    assert told == {
        "USBC weight max",
        "USBC diameter min",
        "USBC diameter max",
        "USBC pin marking max",
    } & {limit for limit, _ in free}
    one = _at(ball("aligned", ranges=((1.1, 1.1), (0.5, 1.5), (0.8, 2.9), (1.0, 3.6))), 15.0)
    target = {LOW_RG: Span(6.5, 6.5), DIFFERENTIAL: Span(0.1, 0.1)}
    fixed = _found(replace(one.map, target=target).ball(one.densities))
    assert fixed["USBC rg min", None].rule_only
    assert fixed["USBC differential max", None].rule_only
    assert fixed["USBC density max", "cover"].rule_only
    assert not fixed["USBC density max", "block"].rule_only


@pytest.mark.parametrize(
    ("pounds", "applies"), [(16, True), (13, True), (12.6, True), (12.4, False), (10, False)]
)
def test_light_classes_are_told_that_a_rule_may_not_apply(ball, pounds, applies):
    """Worded for 13 lb or more; half a pound under the label is still that class."""
    found = _found(_at(ball("aligned"), pounds))
    for (limit, _), margin in found.items():
        worded = "from_lb" not in RULES[limit.split(" ", 1)[1].rsplit(" ", 1)[0]]
        assert (margin.note is None) == (worded or applies)
        if not (worded or applies):
            assert "13 lb or more" in margin.note
            assert margin.rule_only
    meant = _found(_at(ball("aligned"), pounds), all_weights=True)
    assert all(margin.note is None for margin in meant.values())
    assert not meant["USBC rg min", None].rule_only
