"""`solve --worth`: where it is told, and where not."""

from __future__ import annotations

import json

import pytest

pytestmark = pytest.mark.usefixtures("remembered")


def test_it_is_told_under_the_line_up_and_in_the_same_object(samespin):
    shown = samespin("solve", "alder.toml", "--worth")
    assert shown.code == 0
    assert "What each dimension and bound is worth" in shown.out
    told = json.loads(samespin("solve", "alder.toml", "--worth", "--json").out)
    plain = json.loads(samespin("solve", "alder.toml", "--json").out)
    worth = told.pop("worth")
    assert told == plain
    assert worth["numbers"]
    for number in worth["numbers"]:
        assert {"slope_tolerances_per_step", "gain_tolerances_at_step"} <= number["up"].keys()


def test_a_line_up_that_was_not_found_says_that_nothing_is_told(samespin):
    ran = samespin("solve", "cedar.toml", "--worth")
    assert ran.code == 4
    assert "--worth: there is no line-up exactly on target" in ran.err
    assert "is worth\n" not in ran.out


def test_it_is_about_one_line_up_and_no_curve(samespin):
    ran = samespin("solve", "alder.toml", "--worth", "--trade", "rg")
    assert ran.code == 2
    assert "--worth" in ran.err


ASKED_ABOUT = {
    "optimizer.questions.worth.worth.worths": ("alder.toml", "--worth"),
    "optimizer.questions.solve.second_opinion.second_opinion": ("alder.toml", "--second-opinion"),
    "optimizer.questions.why_not.diagnosis.explained": ("cedar.toml",),
}


@pytest.mark.parametrize("stopped", ASKED_ABOUT)
def test_an_interrupt_of_what_is_asked_about_a_line_up_leaves_that(
    samespin, folder, monkeypatch, stopped
):
    def interrupted(*_):
        raise KeyboardInterrupt

    plain = samespin("solve", *ASKED_ABOUT[stopped], "--json")
    monkeypatch.setattr(stopped, interrupted)
    ran = samespin("solve", *ASKED_ABOUT[stopped], "-o", "x.json")
    said = "interrupted: this is the line-up, without what else was asked about it"
    assert (ran.code, ran.err) == (130, f"written: x.json\n{said}\n")
    whole, saved = json.loads(plain.out), json.loads((folder / "x.json").read_text())
    assert saved["weights"] == whole["weights"]
    assert saved["status"] == whole["status"]
    assert set(whole) - set(saved) <= {"worth", "second_opinion"}
