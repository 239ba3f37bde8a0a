"""Free dimensions on the command line: picked, told, saved, read back; interrupted; refused."""

from __future__ import annotations

import json

import pytest
from optimizer_texts import shipped

from optimizer.lineup.moulds import search as moulds
from optimizer.questions.solve.sought import duration

ELDER = shipped("elder")
REMEMBERED = pytest.mark.usefixtures("remembered")


@pytest.fixture
def elder(folder):
    (folder / "elder.toml").write_text(ELDER, encoding="utf-8")
    return folder


@REMEMBERED
def test_the_mould_is_told_and_its_parts_have_nothing_left_open(samespin, elder):
    ran = samespin("solve", "elder.toml", "--starts", "1", "--json")
    assert ran.code == 0, ran.err
    solved = json.loads(ran.out)
    assert solved["search"]["complete"] is True
    assert solved["search"]["moulds"] == 1
    for weight in solved["weights"]:
        dims = weight["dimensions"]
        assert set(dims) == {"belly", "tall", "lift"}
        spindle = next(part for part in weight["parts"] if part["name"] == "spindle")
        assert spindle["shape"]["diameter"] == dims["belly"]
        assert spindle["shape"]["height"] == dims["tall"]
        assert spindle["at"] == [0, 0, dims["lift"]]
        walls = [m for m in weight["margins"] if m["limit"] == "wall min"]
        assert len(walls) == 5
        assert all(m["slack"] >= 0 for m in walls)
    shown = samespin("solve", "elder.toml", "--starts", "1").out
    assert "Dimensions picked, in" in shown
    assert f"{solved['weights'][0]['dimensions']['tall']:g}" in shown


@REMEMBERED
def test_a_saved_mould_is_read_back_and_poured_from(samespin, elder):
    assert samespin("solve", "elder.toml", "--starts", "1", "-o", "elder.json").code == 0
    sheet = samespin("schedule", "elder.json")
    assert sheet.code == 0, sheet.err
    saved = json.loads((elder / "elder.json").read_text())
    for spoilt, told in (
        (9.9, 'dimension "tall" is not one the scenario allows (9.9)'),
        (6.4, 'dimension "tall" differs between weights that share it'),
        ("x", "no dimension \"tall\" ('x')"),
    ):
        other = json.loads(json.dumps(saved))
        other["weights"][0]["dimensions"]["tall"] = spoilt
        (elder / "other.json").write_text(json.dumps(other))
        ran = samespin("schedule", "other.json")
        assert ran.code == 3
        assert told in ran.err


@pytest.fixture
def stopped(monkeypatch):
    """Ctrl-C in the second start of every search for a mould."""
    walk, calls = moulds.from_start, []

    def from_start(*arguments):
        calls.append(arguments)
        if len(calls) > 1:
            raise KeyboardInterrupt
        return walk(*arguments)

    monkeypatch.setattr(moulds, "from_start", from_start)


def test_an_interrupted_search_shows_its_best_and_says_so(samespin, elder, stopped):
    ran = samespin("solve", "elder.toml", "-o", "best.json")
    assert ran.code == 130
    assert ran.err == "written: best.json\ninterrupted: this is the best so far\n"
    assert "Interrupted: the mould is the best of 1 start." in ran.out
    saved = json.loads((elder / "best.json").read_text())
    assert saved["search"]["complete"] is False
    assert saved["status"] == "feasible"
    sheet = samespin("schedule", "best.json")
    assert sheet.code == 0
    assert sheet.err == (
        "best.json: the search for its mould was interrupted: a better one may exist\n"
    )
    assert samespin("report", "best.json").code == 0  # which carries the solution, and its search
    assert samespin("schedule", "best.html").err == sheet.err.replace(".json", ".html")


def test_an_interrupt_while_a_rack_is_judged_leaves_the_drawings_own_choice(
    samespin, elder, monkeypatch
):
    """Ctrl-C as soon as weights alone are solved, whose moulds are of no line yet."""
    text = ELDER
    for name, value in (
        ("belly ", "3.6"),
        ("tall ", "{ one_of = [6.5, 6.6] }"),
        ("lift ", "{ one_of = [0.2, 0.3] }"),
    ):
        start = text.index(f"\n{name}") + 1
        text = f"{text[:start]}{name}= {value}{text[text.index(chr(10), start) :]}"
    (elder / "elder.toml").write_text(text, encoding="utf-8")

    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("optimizer.lineup.moulds.rack.Alone.add", stopped)
    ran = samespin("solve", "elder.toml", "-o", "best.json")
    assert ran.code == 130
    saved = json.loads((elder / "best.json").read_text())
    assert saved["search"]["complete"] is False
    assert saved["weights"][0]["dimensions"] == {"belly": 3.6, "tall": 6.5, "lift": 0.2}


def test_an_interrupted_search_that_has_nothing_within_its_limits_asks_no_further(
    samespin, elder, stopped, monkeypatch
):
    """Why there is none may take minutes, and is asked of a whole search."""

    def diagnose(_):
        pytest.fail("the diagnosis is begun")

    monkeypatch.setattr("optimizer.questions.why_not.diagnosis.diagnose", diagnose)
    far = ELDER.replace("differential = 0.048", "differential = 0.090")
    (elder / "elder.toml").write_text(far, encoding="utf-8")
    ran = samespin("solve", "elder.toml", "-o", "best.json")
    assert ran.code == 130
    assert ran.err == "written: best.json\ninterrupted: this is the best so far\n"
    assert json.loads((elder / "best.json").read_text())["status"] == "undecided"


@pytest.mark.parametrize(
    "command",
    [
        ("schedule", "elder.toml", "-o", "x.csv"),
        ("report", "elder.toml", "-o", "x.html"),
        ("compare", "elder.toml", "alder.toml", "-o", "x.html"),
        ("sharing", "elder.toml", "-o", "x.html"),
        ("solve", "elder.toml", "--apply", "1", "-o", "x.toml"),
    ],
)
def test_what_is_not_the_best_goes_into_no_other_answer(samespin, elder, stopped, command):
    ran = samespin(*command)
    assert (ran.code, ran.out, ran.err) == (130, "", "interrupted\n")
    assert list(elder.glob("x.*")) == []


@REMEMBERED
def test_what_asks_about_one_mould_says_which_dimensions_are_open(samespin, elder):
    for command in (["window"], ["solve", "--trade", "rg"]):
        ran = samespin(command[0], "elder.toml", *command[1:])
        assert ran.code == 3
        lines = ran.err.splitlines()
        assert len(lines) == 3
        assert lines[0] == (
            'elder.toml:27:1: dimension "belly" is free, and this command asks about one mould; '
            "give it one value; samespin solve finds the best"
        )


@REMEMBERED
def test_check_tells_what_is_open(samespin, elder):
    text = ELDER.replace(
        "lift  = { min = 0.15, max = 0.45, start = 0.30 }",
        'lift  = { one_of = [0.2, 0.3], same = [["16", "15"], ["14", "13"]] }',
    )
    (elder / "elder.toml").write_text(text, encoding="utf-8")
    out = samespin("check", "elder.toml").out
    assert (
        "- Dimension belly is free from 3.000 to 3.800 in, one for all weights; shown at its start."
    ) in out
    assert (
        "- Dimension lift is one of 0.2 and 0.3 in, alike in 16 = 15 and 14 = 13; shown: the first."
    ) in out


@REMEMBERED
def test_sharing_asks_of_moulds_and_writes_the_scenario(samespin, elder):
    text = ELDER
    for name, value in (("tall ", "6.55"), ("lift ", "0.19")):
        start = text.index(f"\n{name}") + 1
        text = f"{text[:start]}{name}= {value}{text[text.index(chr(10), start) :]}"
    text = text.replace("14 = 14.12\n13 = 13.12\n", "")
    (elder / "elder.toml").write_text(text, encoding="utf-8")
    ran = samespin("sharing", "elder.toml", "--json")
    assert ran.code == 0, ran.err
    told = json.loads(ran.out)
    assert told["format"] == "samespin/moulds@1"
    assert [point["moulds"] for point in told["frontier"]] == [1, 2]
    assert "moulds  smallest margin" in samespin("sharing", "elder.toml").out
    ran = samespin("sharing", "elder.toml", "--moulds", "2", "-o", "two.toml")
    assert (ran.code, ran.err) == (0, "written: two.toml\n")
    again = json.loads(samespin("solve", "two.toml", "--starts", "3", "--json").out)
    assert again["smallest_margin"]["tolerances"] == told["frontier"][1]["tolerances"]
    ran = samespin("sharing", "elder.toml", "--moulds", "4", "-o", "four.toml")
    assert ran.code == 6
    assert ran.err == "no line-up with 4 moulds was found; found: 1, 2\n"
    assert samespin("sharing", "alder.toml", "--moulds", "2", "-o", "x.toml").code == 3


@pytest.mark.parametrize("time", ["30", "1ms", "-3s", "0s", "nans", "3 days"])
def test_a_time_without_its_unit_or_sense_is_refused(samespin, time):
    ran = samespin("solve", "alder.toml", f"--for={time}")
    assert ran.code == 2
    assert "such as 30s, 5min or 2h" in " ".join(ran.err.split())


@pytest.mark.parametrize(("time", "seconds"), [("30s", 30.0), ("1.5min", 90.0), ("2h", 7200.0)])
def test_a_time_is_read_with_its_unit(time, seconds):
    assert duration(time) == seconds
