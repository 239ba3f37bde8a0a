"""`samespin solve --trade` as a person runs it."""

from __future__ import annotations

import csv
import io
import json
import xml.etree.ElementTree as ET

import pytest

pytestmark = pytest.mark.usefixtures("remembered")

FREE = "rg = { min = 2.52, max = 2.58 }  #"


@pytest.fixture
def free(folder):
    """The folder with a scenario that leaves the RG free."""
    text = (folder / "alder.toml").read_text(encoding="utf-8")
    assert "rg           = 2.550" in text
    (folder / "free.toml").write_text(text.replace("rg           = 2.550", FREE), encoding="utf-8")
    return folder


def test_it_tells_the_best_and_what_to_type_next(samespin, free) -> None:
    ran = samespin("solve", "free.toml", "--trade", "rg")
    assert (ran.code, ran.err) == (0, "")
    assert "low RG is best at 2.5" in ran.out
    assert "limit that takes over" in ran.out
    assert "\nNext: samespin solve free.toml" in ran.out


def test_json_agrees_with_solve(samespin, free) -> None:
    """The highest point is the RG that solve chooses; it is inside what is feasible."""
    ran = samespin("solve", "free.toml", "--trade", "rg", "--json")
    assert (ran.code, ran.err) == (0, "")
    data = json.loads(ran.out)
    assert data["format"] == "samespin/trade@1"
    chosen = json.loads(samespin("solve", "free.toml", "--json").out)["target"]["rg_in"]
    assert data["best"]["value_in"] == pytest.approx(chosen, abs=2e-5)
    assert any(low <= chosen <= high for low, high in data["feasible_in"])


def test_files_are_written_together(samespin, free) -> None:
    typed = ("solve", "free.toml", "--trade", "rg", "-o", "curve.csv", "--picture", "curve.svg")
    ran = samespin(*typed, "--json")
    assert json.loads(ran.out) == {"written": ["curve.csv", "curve.svg"]}
    rows = list(csv.reader(io.StringIO((free / "curve.csv").read_text("utf-8"))))
    start = rows.index(["low RG, in", "margin, tolerances", "limits that hold it"])
    samples = [row for row in rows[start + 1 :] if len(row) == 3]
    assert len(samples) > 20
    values = [float(row[0]) for row in samples]
    assert values == sorted(values)
    assert ET.parse(free / "curve.svg").getroot()[1].text  # noqa: S314 - our own
    assert samespin(*typed).code == 3
    assert samespin(*typed, "--force").code == 0


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--trade", "foo"), "'foo' is not one of 'rg', 'differential', 'intermediate'"),
        (("--trade", "rg", "--fail-under", "1"), "are about one line-up"),
        (("--trade", "rg", "--apply", "1", "-o", "new.toml"), "are about one line-up"),
        (("--picture", "x.svg"), "goes with --trade"),
        (("--trade", "rg", "--picture", "x.png"), "name it FILE.svg"),
        (("--trade", "rg", "-o", "x.txt"), "the suffix must be"),
    ],
)
def test_options_that_do_not_go_together_are_refused(samespin, free, options, said) -> None:
    ran = samespin("solve", "free.toml", *options)
    assert (ran.code, ran.out) == (2, "")
    assert said in " ".join(ran.err.replace("│", " ").split())


def test_a_fixed_figure_is_one_clear_error(samespin) -> None:
    ran = samespin("solve", "alder.toml", "--trade", "rg", "--json")
    assert ran.code == 3
    (error,) = json.loads(ran.out)["errors"]
    assert error["what"] == "rg is one value, not a range"
    assert error["instead"].startswith("write target.rg = { min = …, max = … }")
    assert (error["file"], error["value"]) == ("alder.toml", "2.55")
    assert error["line"] > 1


def test_nothing_feasible_is_exit_code_4_and_still_drawn(samespin, free) -> None:
    text = (free / "free.toml").read_text(encoding="utf-8")
    (free / "far.toml").write_text(
        text.replace("{ min = 2.52, max = 2.58 }", "{ min = 2.62, max = 2.64 }"), "utf-8"
    )
    ran = samespin("solve", "far.toml", "--trade", "rg", "--json")
    data = json.loads(ran.out)
    assert (ran.code, data["status"], data["feasible_in"]) == (4, "infeasible", [])
    assert data["proof"]
    assert all(one["tolerances"] < 0.0 for one in data["curve"])
