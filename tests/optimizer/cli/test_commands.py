"""Exit codes, streams and the one JSON object, command by command."""

from __future__ import annotations

import json
import re
import tomllib

import pytest
from optimizer_texts import SCENARIOS

from optimizer.paper.writers.json_ import text as as_json
from shared.errors import SolverError

REMEMBERED = pytest.mark.usefixtures("remembered")
CASES = [
    (("new", "elder"), 0),
    (("new", "alder"), 3),
    (("new", "../elder"), 3),
    (("check", "alder.toml"), 0),
    (("check", "birch.toml", "--density", "cover=1.2", "--density", "block=1.3"), 0),
    (("check", "birch.toml", "--density", "cover"), 3),
    (("check", "birch.toml", "--density", "hub=1.2"), 3),
    (("check", "wrong.toml"), 3),
    (("check", "none.toml"), 3),
    (("solve", "alder.toml"), 0),
    (("solve", "alder.toml", "--fail-under", "0.5"), 0),
    (("solve", "alder.toml", "--fail-under", "50"), 5),
    (("solve", "alder.toml", "-o", "x.json"), 0),
    (("solve", "alder.toml", "-o", "x.pdf"), 2),
    (("solve", "alder.toml", "-o", "none/x.json"), 3),
    (("solve", "birch.toml"), 3),
    (("solve", "cedar.toml"), 4),
    (("solve",), 2),
    (("solve", "alder.toml", "--bogus"), 2),
    (("grow", "alder.toml", "--fewer", "1"), 4),
    (("grow", "alder.toml", "--more", "1", "--fewer", "1"), 2),
    (("grow", "alder.toml", "--more", "3"), 2),
    (("grow", "alder.toml", "--for", "soon"), 2),
    (("sharing", "alder.toml"), 0),
    (("sharing", "alder.toml", "-o", "x.csv"), 0),
    (("sharing", "alder.toml", "--pours", "15"), 2),
    (("sharing", "alder.toml", "-o", "y.toml"), 2),
    (("sharing", "birch.toml"), 3),
    (("sharing", "cedar.toml"), 4),
    (("schedule", "alder.toml"), 0),
    (("schedule", "cedar.toml"), 4),
    (("schedule", "alder.toml", "-o", "x.csv"), 0),
    (("parts", "alder.toml"), 0),
    (("parts", "alder.toml", "-o", "x.csv"), 0),
    (("parts", "alder.toml", "-o", "x.dxf"), 2),
    (("parts", "birch.toml"), 3),
    (("parts", "cedar.toml"), 4),
    (("parts", "none.json"), 3),
    (("schema",), 0),
    (("bogus",), 2),
]


@REMEMBERED
@pytest.mark.parametrize(("arguments", "code"), CASES, ids=[" ".join(case[0]) for case in CASES])
def test_codes_and_streams(arguments, code, samespin) -> None:
    """In words: errors on stderr. With --json: one object on stdout, and the same code."""
    ran = samespin(*arguments)
    assert ran.code == code, ran.err
    assert "\x1b" not in ran.out + ran.err
    assert "Traceback" not in ran.err
    refused = code in {2, 3} or (code == 4 and arguments[0] == "schedule")
    assert (ran.out == "") == refused or "-o" in arguments
    if refused:
        assert ran.err

    told = samespin(*arguments, "--json", *(["--force"] if "x.csv" in arguments else []))
    if arguments == ("new", "elder") or "x.json" in arguments:
        assert json.loads(told.out)["errors"][0]["what"] == "already exists"
        return
    assert told.code == code
    data = json.loads(told.out)
    assert (data.get("format") == "samespin/error@1") == refused
    if refused:
        assert all(
            set(error) == {"file", "line", "column", "what", "value", "instead"}
            for error in data["errors"]
        )
        assert told.err == ""


@pytest.mark.parametrize("command", ["solve", "sharing", "schedule", "check"])
def test_json_is_one_object_in_a_process_of_its_own(command, process) -> None:
    """The solver's banner goes to file descriptor 1 unless it is guarded."""
    ran = process(command, "alder.toml", "--json")
    assert ran.code == 0
    assert ran.out == as_json(json.loads(ran.out))
    assert ran.err == ""


def test_bare_samespin_prints_the_path_with_lines_that_work(samespin) -> None:
    """The lines are taken from the screen and typed, one after the other."""
    ran = samespin()
    assert (ran.code, ran.err) == (0, "")
    lines = re.findall(r"^  samespin (.*?)(?:   .*)?$", ran.out, re.MULTILINE)
    assert [line.split()[0] for line in lines] == ["new", "solve", "schedule"]
    for line in lines:
        assert samespin(*line.split()).code == 0


def test_what_a_screen_says_to_type_next_works(samespin) -> None:
    """From new to the schedule by the lines that are offered."""
    typed, told = ["new", "elder"], []
    while typed:
        ran = samespin(*typed)
        assert ran.code == 0
        told.append(typed[0])
        offered = re.search(r"^Next: samespin (.*)$", ran.out, re.MULTILINE)
        typed = offered[1].split() if offered else []
    assert told == ["new", "solve", "schedule"]


@REMEMBERED
@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_shipped_line_up_fits_one_screen(path, samespin) -> None:
    """At most 40 lines; the table, whose lines can't wrap, at most 100 columns."""
    with path.open("rb") as file:
        expected = tomllib.load(file)["expected"]["status"]
    ran = samespin("solve", str(path))
    lines = ran.out.splitlines()
    assert (ran.code == 0) == (expected != "infeasible")
    assert len(lines) <= 40
    assert expected.upper().replace("_", " ") in lines[0]
    rule = next(i for i, line in enumerate(lines) if line.startswith("---"))
    assert max(map(len, lines[rule - 1 : lines.index("", rule)])) <= 100


def test_what_new_wrote_solves_with_a_tolerance_of_room(samespin, folder) -> None:
    assert samespin("new", "Elder 2").code == 0
    first = (folder / "Elder 2.toml").read_text(encoding="utf-8").splitlines()[0]
    assert first == "#:schema ./samespin.schema.json"
    assert json.loads((folder / "samespin.schema.json").read_text())["title"]
    ran = samespin("solve", "Elder 2.toml", "--fail-under", "0.9", "--json")
    data = json.loads(ran.out)
    assert (ran.code, data["status"], data["scenario"]["name"]) == (0, "feasible", "Elder 2")


def test_a_schema_that_is_there_already_is_left_alone(samespin) -> None:
    assert json.loads(samespin("new", "elder", "--json").out)["written"] == [
        "elder.toml",
        "samespin.schema.json",
    ]
    assert json.loads(samespin("new", "oak", "--json").out)["written"] == ["oak.toml"]


@pytest.mark.parametrize(
    "name", ["", "a/b", "..", ".hidden", "a\\b", 'a"b', "a\nb", "a:b", " a", "-"]
)
def test_new_takes_plain_names_only(name, samespin, folder) -> None:
    before = sorted(folder.iterdir())
    assert samespin("new", "--", name).code == 3
    assert sorted(folder.iterdir()) == before


def test_a_schedule_of_a_saved_solution_is_the_schedule_of_its_scenario(samespin) -> None:
    assert samespin("solve", "alder.toml", "-o", "alder.json").code == 0
    assert samespin("schedule", "alder.json").out == samespin("schedule", "alder.toml").out


def test_no_schedule_is_poured_from_an_infeasible_line_up(samespin, folder) -> None:
    samespin("solve", "cedar.toml", "-o", "cedar.json")
    for source in ("cedar.toml", "cedar.json"):
        ran = samespin("schedule", source, "-o", "x.csv")
        assert (ran.code, ran.out) == (4, "")
        assert "no schedule, since the line-up is infeasible" in ran.err
    assert not (folder / "x.csv").exists()


def test_an_error_has_its_place_in_words_and_in_json(samespin) -> None:
    assert (
        'wrong.toml:15:28: part "cover" diametre: is not a key here (8.58)'
        in samespin("check", "wrong.toml").err
    )
    errors = json.loads(samespin("check", "wrong.toml", "--json").out)["errors"]
    assert any((e["file"], e["line"]) == ("wrong.toml", 15) for e in errors)


def test_a_usage_error_names_the_help(samespin) -> None:
    errors = json.loads(samespin("solve", "--json").out)["errors"]
    assert errors[0]["instead"] == "samespin solve --help"


def test_a_fault_of_ours_is_one_line_and_the_traceback_is_at_hand(samespin, monkeypatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("the moon is full")

    monkeypatch.setattr("optimizer.scenario.read_scenario", broken)
    ran = samespin("check", "alder.toml")
    assert (ran.code, ran.out) == (1, "")
    (line,) = ran.err.splitlines()
    assert line.startswith("a fault of samespin: RuntimeError: the moon is full; please report it")
    assert line.endswith("SAMESPIN_TRACEBACK=1 shows where it happened")
    monkeypatch.setenv("SAMESPIN_TRACEBACK", "1")
    assert "Traceback (most recent call last)" in samespin("check", "alder.toml").err
    assert json.loads(samespin("check", "alder.toml", "--json").out)["errors"]


@pytest.mark.parametrize(
    ("error", "code"), [(KeyboardInterrupt(), 130), (SolverError("no answer"), 1)]
)
def test_what_ends_a_command_has_its_code(error, code, samespin, monkeypatch) -> None:
    def ended(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("optimizer.lineup.pipeline.solve_lineup", ended)
    assert samespin("solve", "alder.toml").code == code
    assert json.loads(samespin("solve", "alder.toml", "--json").out)["errors"]


def test_undecided_is_its_own_code(samespin, monkeypatch) -> None:
    from dataclasses import replace  # noqa: PLC0415

    from optimizer.lineup import pipeline  # noqa: PLC0415

    solve = pipeline.solve_lineup
    monkeypatch.setattr(
        pipeline,
        "solve_lineup",
        lambda *given, **how: replace(solve(*given, **how), status="undecided"),
    )
    assert samespin("solve", "alder.toml").code == 6
    assert samespin("schedule", "alder.toml").code == 6
