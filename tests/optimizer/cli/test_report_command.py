"""`samespin report` as a person runs it."""

from __future__ import annotations

import json

import numpy as np
import pytest

from optimizer.lineup.result import Infeasible, LineupResult, Search
from optimizer.lineup.stating import measured
from optimizer.questions.line_up.data import solution
from optimizer.scenario import linear_maps, read_scenario

pytestmark = pytest.mark.usefixtures("remembered")


@pytest.fixture
def page(samespin, folder):
    """The page of Alder's line-up, from its saved solution."""
    assert samespin("solve", "alder.toml", "-o", "alder.json").code == 0
    ran = samespin("report", "alder.json", "--pictures", "pictures")
    assert (ran.code, ran.out) == (0, "")
    return folder / "alder.html"


def test_the_page_and_its_pictures_are_written(page, folder):
    assert page.read_text().startswith("<!DOCTYPE html>")
    assert {one.suffix for one in (folder / "pictures").iterdir()} == {".svg"}
    assert (folder / "pictures" / "window.svg").read_text().startswith("<?xml")


def test_the_page_alone_is_enough_to_write_it_again(page, samespin, folder):
    """From the page alone, in another folder, comes the same page, byte for byte."""
    (folder / "other").mkdir()
    assert samespin("report", "alder.html", "-o", "other/alder.html").code == 0
    assert (folder / "other" / "alder.html").read_bytes() == page.read_bytes()
    assert samespin("schedule", "alder.html", "-o", "alder.csv").code == 0


def test_a_page_whose_solution_was_changed_is_refused(page, samespin):
    text = page.read_text()
    data = json.loads(text.partition('id="solution">')[2].partition("</script>")[0])
    told = json.dumps(data["weights"][0]["rg_low_in"])
    page.write_text(text.replace(f'"rg_low_in":{told}', '"rg_low_in":2.6', 1))
    ran = samespin("report", "alder.html", "-o", "other.html")
    assert ran.code == 3
    assert "rg_low_in does not follow from its scenario and densities" in ran.err


def test_a_page_without_a_solution_is_refused(samespin, folder):
    (folder / "plain.html").write_text("<!DOCTYPE html><p>x</p>")
    ran = samespin("report", "plain.html", "-o", "other.html")
    assert ran.code == 3
    assert "carries no solution" in ran.err
    assert not (folder / "other.html").exists()


def test_nothing_is_written_over_unless_asked(page, samespin):
    before = page.read_bytes()
    ran = samespin("report", "alder.json")
    assert ran.code == 3
    assert "--force" in ran.err
    ran = samespin("report", "alder.json", "-o", "b.html", "--pictures", "pictures")
    assert ran.code == 3
    assert "has pictures already" in ran.err
    assert page.read_bytes() == before
    assert samespin("report", "alder.json", "--force", "--pictures", "pictures").code == 0
    assert page.read_bytes() == before


def test_json_says_what_was_written(samespin):
    ran = samespin("report", "alder.toml", "--json")
    assert json.loads(ran.out) == {"written": ["alder.html"]}
    assert ran.err == ""


def test_an_impossible_line_has_a_page_that_says_why(samespin, folder):
    """Exit 4 as for solve; from the saved solution the reasons are found again."""
    assert samespin("solve", "cedar.toml", "-o", "cedar.json").code == 4
    assert samespin("report", "cedar.json").code == 4
    content = (folder / "cedar.html").read_text()
    assert "INFEASIBLE" in content
    assert "hold together" in content


@pytest.mark.parametrize("command", ["schedule", "report", "compare"])
def test_a_claim_that_no_line_up_can_be_is_never_believed(command, samespin, folder):
    """Alder is feasible. Saved as infeasible, with a ball that is off its target."""
    text = (folder / "alder.toml").read_text().replace("0.042", "0.001")
    (folder / "off.toml").write_text(text)
    assert samespin("solve", "off.toml", "-o", "off.json").code == 4
    found = json.loads((folder / "off.json").read_text())
    alder = read_scenario("alder.toml", target_required=True)
    figures = np.array([span.low for span in alder.target.values()])
    densities = [list(row["densities_g_cm3"].values()) for row in found["weights"]]
    weights = tuple(
        measured(map_.ball(np.array(some)), figures)
        for map_, some in zip(linear_maps(alder), densities, strict=True)
    )
    why, search = Infeasible("so it is said", (), ()), Search(True, 1, 1, "none")
    claim = LineupResult(alder, "infeasible", tuple(figures), weights, why, search, ())
    (folder / "claim.json").write_text(json.dumps(solution(claim)))
    more = ("off.json",) if command == "compare" else ()
    ran = samespin(command, "claim.json", *more)
    assert ran.code == 3
    assert 'is called "infeasible", and solved anew it is "feasible"' in ran.err


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (("-o", "x.pdf"), "name it FILE.html"),
        (("-o", "none/x.html"), "there is no folder"),
        (("--pictures", "alder.toml"), "is a file"),
        (("--pictures", "none/pictures"), "there is no folder"),
    ],
)
def test_what_cannot_be_written_is_refused_before_any_work(samespin, more, told):
    ran = samespin("report", "alder.toml", *more)
    assert ran.code in (2, 3)
    assert told in ran.err
