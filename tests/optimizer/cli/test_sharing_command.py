"""`samespin sharing`: the lines it offers work, and what it writes is what it told."""

from __future__ import annotations

import json
import re

import pytest

pytestmark = pytest.mark.usefixtures("remembered")


def test_the_lines_it_offers_lead_to_a_schedule(samespin, folder) -> None:
    """From the frontier to the scenario of a point, to its solution, to its sheet."""
    typed, told = ["sharing", "alder.toml"], []
    while typed:
        ran = samespin(*typed)
        assert ran.code == 0, ran.err
        told.append(typed[0])
        offered = re.search(r"^Next: samespin (.*)$", ran.out, re.MULTILINE)
        typed = offered[1].split() if offered else []
    assert told == ["sharing", "sharing", "solve", "schedule"]


def test_pours_writes_the_scenario_that_solves_to_the_told_margin(samespin, folder) -> None:
    """The margin of solve is the least of those that densities move, as sharing tells it."""
    frontier = json.loads(samespin("sharing", "alder.toml", "--json").out)["frontier"]
    fewest = frontier[-1]
    ran = samespin("sharing", "alder.toml", "--pours", str(fewest["pours"]), "-o", "few.toml")
    assert (ran.code, ran.err) == (0, "written: few.toml\n")
    solved = json.loads(samespin("solve", "few.toml", "--json").out)
    margins = [
        m for w in solved["weights"] for m in w["margins"]
        if m["limit"].startswith(("density", "top weight"))
    ]  # fmt: skip
    assert min(m["tolerances"] for m in margins) == fewest["tolerances"]
    poured = {
        (recipe["material"], recipe["density_g_cm3"]): recipe["poured"]
        for recipe in fewest["recipes"]
    }
    assert len(poured) == fewest["pours"]
    for weight in solved["weights"]:
        for part, density in weight["densities_g_cm3"].items():
            place = {"part": part, "weight": weight["label"]}
            assert [key[1] for key, places in poured.items() if place in places] == [density]
    before, after = ((folder / name).read_text("utf-8") for name in ("alder.toml", "few.toml"))
    kept = [ln for ln in after.splitlines(keepends=True) if not ln.startswith("same_density")]
    assert "".join(kept) == before


def test_fewer_pours_than_there_are_is_infeasible_and_writes_nothing(samespin, folder) -> None:
    ran = samespin("sharing", "alder.toml", "--pours", "2", "-o", "two.toml")
    assert (ran.code, ran.out) == (4, "")
    assert re.search(r"no line-up with 2 different pours was found; the fewest is \d+", ran.err)
    assert not (folder / "two.toml").exists()


def test_another_file_is_not_written_over(samespin, folder) -> None:
    """Refused before anything is solved."""
    ran = samespin("sharing", "alder.toml", "--pours", "15", "-o", "birch.toml")
    assert (ran.code, ran.out) == (3, "")
    assert "already exists" in ran.err


def test_an_infeasible_line_writes_nothing(samespin, folder) -> None:
    ran = samespin("sharing", "cedar.toml", "--pours", "3", "-o", "x.toml")
    assert ran.code == 4
    assert "INFEASIBLE" in ran.out
    assert not (folder / "x.toml").exists()


def test_a_proof_is_written_and_checked(samespin, folder, monkeypatch) -> None:
    """By samespin proof, with the scenario beside it; a line changed by a digit is told."""
    monkeypatch.setattr("optimizer.questions.sharing.fewest.THOROUGH", 600)
    ran = samespin("sharing", "alder.toml", "--proof", "few.json", "-o", "report.json")
    assert (ran.code, ran.err) == (0, "written: report.json\nwritten: few.json\n")
    fewest = json.loads((folder / "report.json").read_text("utf-8"))["fewest"]
    assert 6 <= fewest["at_least"] <= fewest["found"]
    ran = samespin("proof", "few.json", "--json")
    assert ran.code == 0
    (claim,) = json.loads(ran.out)["claims"]
    assert claim["pours"]["at_least"] == fewest["at_least"]
    words = f"has at least {fewest['at_least']} different pours"
    assert words in samespin("proof", "few.json").out
    text = (folder / "alder.toml").read_text("utf-8")
    (folder / "alder.toml").write_text(text.replace("15.90", "15.91"), "utf-8")
    assert samespin("proof", "few.json").code == 4


def test_of_a_line_that_cannot_be_it_is_proven_that_it_cannot(samespin, folder) -> None:
    assert samespin("sharing", "cedar.toml", "--proof", "none.json").code == 4
    ran = samespin("proof", "none.json")
    assert ran.code == 0
    assert "No line-up of 15 meets the target" in ran.out


def test_a_proof_is_not_written_over_the_report(samespin, folder) -> None:
    ran = samespin("sharing", "alder.toml", "-o", "one.json", "--proof", "one.json")
    assert (ran.code, ran.out) == (2, "")
    assert "not that of -o" in ran.err
