"""Every shipped scenario, and some that can't be, by an interior-point method besides."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from answers import example, solved
from optimizer_texts import FOLDER, shipped

from optimizer.cli.app import run
from optimizer.lineup.engine.stated_program import state_and_solve
from optimizer.questions.solve import second_opinion as module
from optimizer.questions.solve.second_opinion import AGREE, second_opinion
from shared.errors import UndecidedError

SCENARIOS = sorted(file.stem for file in FOLDER.glob("*.toml"))
CHANGES = {
    "infeasible": ("differential = 0.040", "differential = 0.400"),
    "one weight infeasible": ("13 = 13.12", "9 = 9.0"),
    "shared": ("[[parts]]\n", '[[parts]]\nsame_density = "all"\n'),
    "no room": ("top_weight = {", "top_weight = { min = 2.5, max = 2.5, tolerance = 0.25 } #"),
}


@pytest.mark.parametrize("name", SCENARIOS)
def test_two_kinds_of_solver_come_to_the_same(name):
    result = example(name)
    assert 0.0 <= second_opinion(result).difference <= AGREE


@pytest.mark.parametrize("change", CHANGES)
def test_so_they_do_where_there_is_none_or_no_room(change):
    old, new = CHANGES[change]
    found = second_opinion(solved(shipped("juniper").replace(old, new, 1)))
    assert found.difference <= AGREE
    assert found.programs == (1 if change == "shared" else 4)


@pytest.mark.parametrize(("off", "code"), [(0.5, 0), (2.0, 6)])
def test_where_they_differ_nothing_is_decided(tmp_path, monkeypatch, capsys, off, code):
    def other(*program):
        found = state_and_solve(*program)
        return replace(found, objective=found.objective + off * AGREE)

    monkeypatch.setattr(module, "state_and_solve", other)
    arguments = ["solve", str(FOLDER / "juniper.toml"), "--second-opinion"]
    saved = tmp_path / "x.json"
    assert run([*arguments, "-o", str(saved)]) == code
    assert saved.exists() == (code == 0)
    if code:
        assert "undecided: the optima of HiGHS" in capsys.readouterr().err
        with pytest.raises(UndecidedError):
            second_opinion(solved(shipped("juniper")))
        return
    told = json.loads(saved.read_text("utf-8"))["second_opinion"]
    assert told["agrees"]
    assert told["difference_tolerances"] == pytest.approx(off * AGREE, rel=0.1)
    assert run(["schedule", str(saved), "--json"]) == 0


def test_a_curve_has_none(capsys):
    assert run(["solve", str(FOLDER / "alder.toml"), "--trade", "rg", "--second-opinion"]) == 2
    assert "--second-opinion" in capsys.readouterr().err
