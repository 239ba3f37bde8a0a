"""A number that is sought, at the terminal: what is told, what is proven, what it goes on to."""

from __future__ import annotations

import json

import pytest
from optimizer_texts import FOLDER, plain_juniper

from optimizer.cli.app import run

MOST = 'differential = { min = 0.01, max = 0.09, goal = "most" }\n'
LIGHT = '13 = { min = 11, max = 14, goal = "least" }'
DENSE = 'density = [1.6, { min = 2, max = 4, goal = "least" }]'


def _file(tmp_path, *changes: tuple[str, str], keep: float = 0.0):
    text = plain_juniper()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path = tmp_path / "line.toml"
    path.write_text(f"{text}\n[goal]\nkeep = {keep}\n", encoding="utf-8")
    return str(path)


@pytest.mark.parametrize(
    ("change", "sought", "proven"),
    [
        (
            ("differential = 0.040 ", MOST),
            "the most differential between 0.01 and 0.09 in",
            "has a differential of more than 0.0",
        ),
        (
            ("13 = 13.12", LIGHT),
            "the least class weight of 13 between 11 and 14 lb",
            "has a class weight of 13 of less than 12.",
        ),
        (
            ("density   = [1.60, 3.60]", DENSE),
            "the lowest maximum of the density of dense between 2 and 4 g/cm³",
            "keeps a maximum of less than ",
        ),
    ],
)
def test_what_is_found_stops_and_is_proven(tmp_path, capsys, change, sought, proven):
    file, proof = _file(tmp_path, change, keep=0.5), tmp_path / "proof.json"
    saved = tmp_path / "x.json"
    assert run(["solve", file, "--proof", str(proof), "-o", str(saved)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert f"Sought: {sought}, with 0.5 tolerances of room" in told
    assert "It is stopped by " in told
    assert f"proven: with this mould no line-up with 0.5 tolerances of room {proven}" in told
    data = json.loads(saved.read_text("utf-8"))
    assert data["goal"]["keep_tolerances"] == 0.5
    assert data["goal"]["proven_beyond"] == pytest.approx(data["goal"]["before_rounding"], rel=1e-4)
    assert run(["proof", str(proof)]) == 0
    assert "Moments and limits are those of the scenario" in capsys.readouterr().out
    for command in (["schedule"], ["check"], ["report", "-o", str(tmp_path / "x.html")]):
        what = file if command == ["check"] else str(saved)
        assert run([command[0], what, *command[1:]]) == 0
    capsys.readouterr()


def test_a_proof_that_goes_farther_than_the_scenario_asks_is_told(tmp_path, capsys):
    file, proof = _file(tmp_path, ("density   = [1.60, 3.60]", DENSE)), tmp_path / "proof.json"
    assert run(["solve", file, "--proof", str(proof)]) == 0
    text = (tmp_path / "line.toml").read_text("utf-8")
    (tmp_path / "line.toml").write_text(text.replace("min = 2,", "min = 3.3,"), encoding="utf-8")
    capsys.readouterr()
    assert run(["proof", str(proof)]) == 4
    assert "a limit, 'density', that the scenario doesn't have" in capsys.readouterr().out


def test_room_that_no_number_leaves_is_exit_code_5(tmp_path, capsys):
    file = _file(tmp_path, ("differential = 0.040 ", MOST), keep=50.0)
    assert run(["solve", file]) == 5
    told = capsys.readouterr()
    assert "None was found; this is the line-up with the most room." in told.out
    assert "proven: with this mould no line-up has more than" in told.out
    assert "was not found with the room it is to keep" in told.err


@pytest.mark.parametrize(
    "command",
    [
        ["window"],
        ["solve", "--trade", "differential"],
        ["sharing"],
        ["explore", "--samples", "4", "-o", "none.csv"],
    ],
    ids=" ".join,
)
def test_questions_about_a_given_number_refuse_one_that_is_sought(command, capsys):
    file = str(FOLDER / "medlar.toml")
    assert run([command[0], file, *command[1:]]) == 3
    (line,) = capsys.readouterr().err.splitlines()
    assert "medlar.toml:15:1: target.differential is sought, and this command asks about" in line
