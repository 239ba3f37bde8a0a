"""`samespin compare` as a person runs it."""

from __future__ import annotations

import csv
import io
import json
from types import SimpleNamespace

import pytest

from optimizer.cli.new import text
from optimizer.questions.compare.command import _exit_code

pytestmark = pytest.mark.usefixtures("remembered")


@pytest.fixture
def second(folder):
    """A second candidate: Alder with one cover density for all weights."""
    alder = text("alder").replace('"alder"', '"Alder B"', 1)
    changed = alder.replace(
        'diameter = 8.580 }\nmaterial = "shell"\n',
        'diameter = 8.580 }\nmaterial = "shell"\nsame_density = "all"\n',
    )
    assert changed.count('same_density = "all"\n') == alder.count('same_density = "all"\n') + 1
    assert '"Alder B"' in changed
    (folder / "b.toml").write_text(changed, encoding="utf-8")
    return folder / "b.toml"


def sections(out: str) -> dict[str, list[str]]:
    """The rows of a table below each heading among them, by the heading."""
    found: dict[str, list[str]] = {}
    for line in out.splitlines():
        if line.startswith("  ") and found:
            found[list(found)[-1]].append(line)
        else:
            found[line] = []
    return found


def test_figures_are_those_of_each_solution(samespin, second):
    """As `solve --json` says them, to the digits printed."""
    solutions = [
        json.loads(samespin("solve", name, "--json").out) for name in ("alder.toml", "b.toml")
    ]
    ran = samespin("compare", "alder.toml", "b.toml")
    assert (ran.code, ran.err) == (0, "")
    below = sections(ran.out)
    for title, key, digits in (
        ("Low RG, in", "rg_low_in", 3),
        ("Differential, in", "differential_in", 3),
        ("Weight, lb", "weight_lb", 3),
        ("Top weight, oz", "top_weight_oz", 2),
        ("CG offset, in", "cg_offset_in", 3),
    ):
        rows = [line.split() for line in below[title]]
        for k, row in enumerate(rows):
            assert row[-2:] == [f"{one['weights'][k][key]:.{digits}f}" for one in solutions]
    smallest = [f"{one['smallest_margin']['tolerances']:.1f}" for one in solutions]
    row = next(line for line in ran.out.splitlines() if line.startswith("smallest margin"))
    assert row.split()[-2:] == smallest


def test_lines_are_no_wider_than_a_screen_for_four_candidates(samespin, second, folder):
    for k in "cd":
        other = second.read_text().replace('"Alder B"', f'"Sixteen letter {k}"')
        (folder / f"{k}.toml").write_text(other)
    ran = samespin("compare", "alder.toml", "b.toml", "c.toml", "d.toml")
    assert ran.code == 0
    tables = [line for line in ran.out.splitlines() if "  " in line and not line.startswith("-")]
    assert max(map(len, tables)) <= 100


def test_saved_solutions_and_pages_are_compared_like_scenarios(samespin, second):
    assert samespin("report", "alder.toml").code == 0
    assert samespin("solve", "b.toml", "-o", "b.json").code == 0
    solved = samespin("compare", "alder.toml", "b.toml").out
    saved = samespin("compare", "alder.html", "b.json").out
    assert saved == solved.replace("alder.toml", "alder.html").replace("b.toml", "b.json")


def test_json_is_one_object_with_units_in_its_keys(samespin, second):
    ran = samespin("compare", "alder.toml", "b.toml", "--json")
    assert (ran.code, ran.err) == (0, "")
    data = json.loads(ran.out)
    assert data["format"] == "samespin/comparison@1"
    first, other = data["candidates"]
    assert (first["name"], other["name"]) == ("alder", "Alder B")
    assert first["differs"] == []
    assert other["differs"] == [
        'name: "alder" → "Alder B"',
        "part cover, weights with one density: none → all",
    ]
    assert first["pours"] - other["pours"] == len(data["weights"]) - 1
    solution = json.loads(samespin("solve", "b.toml", "--json").out)
    assert other["smallest_margin"] == solution["smallest_margin"]
    for mine, theirs in zip(other["weights"], solution["weights"], strict=True):
        assert {key: theirs[key] for key in mine.keys() & theirs.keys()} == {
            key: mine[key] for key in mine.keys() & theirs.keys()
        }


def test_every_format_is_written(samespin, second, folder):
    for suffix in ("html", "csv", "json", "xlsx"):
        ran = samespin("compare", "alder.toml", "b.toml", "-o", f"x.{suffix}")
        assert ran.code == 0
        assert f"written: x.{suffix}" in ran.err
    page = (folder / "x.html").read_text()
    assert page.count("<svg") >= 5
    rows = list(csv.reader(io.StringIO((folder / "x.csv").read_text())))
    assert ["", "alder", "Alder B"] in [row[-3:] for row in rows]
    assert json.loads((folder / "x.json").read_text())["format"] == "samespin/comparison@1"


def test_pictures_are_written_to_a_folder(samespin, second, folder):
    ran = samespin("compare", "alder.toml", "b.toml", "--pictures", "p", "--json")
    assert ran.code == 0
    names = sorted(one.name for one in (folder / "p").iterdir())
    assert {"scatter.svg", "slopes.svg"} <= set(names)
    assert sorted(json.loads(ran.out)["written"]) == [f"p/{name}" for name in names]
    assert samespin("compare", "alder.toml", "b.toml", "--pictures", "p").code == 3


def test_two_of_one_name_are_told_apart_by_their_files(samespin, folder):
    (folder / "other.toml").write_text(text("alder"), encoding="utf-8")
    ran = samespin("compare", "alder.toml", "other.toml")
    assert ran.out.startswith("alder and other, side by side\n")
    assert "\nNothing.\n" in ran.out


def test_an_impossible_candidate_is_marked_and_does_not_rank(samespin):
    ran = samespin("compare", "alder.toml", "cedar.toml")
    assert ran.code == 4
    assert "is INFEASIBLE: its figures are those of the nearest balls" in ran.out
    assert "Most room" not in ran.out
    row = next(line for line in ran.out.splitlines() if line.startswith("smallest margin"))
    assert row.split()[-1] == "-"


def test_exit_codes_put_what_cannot_be_first():
    def code(*status: str) -> int:
        some = [SimpleNamespace(result=SimpleNamespace(status=one)) for one in status]
        return _exit_code(SimpleNamespace(candidates=some))

    assert code("feasible", "feasible") == 0
    assert code("undecided", "feasible") == 6
    assert code("undecided", "infeasible") == 4


@pytest.mark.parametrize(
    ("arguments", "code", "told"),
    [
        (("alder.toml",), 2, "name two to 8"),
        (tuple(["alder.toml"] * 9), 2, "name two to 8"),
        (("alder.toml", "none.toml"), 3, "none.toml"),
        (("alder.toml", "wrong.toml"), 3, "diametre"),
        (("alder.toml", "birch.toml"), 3, "target"),
        (("alder.toml", "cedar.toml", "-o", "x.pdf"), 2, "the suffix must be"),
        (("alder.toml", "cedar.toml", "--pictures", "none/p"), 3, "there is no folder"),
    ],
)
def test_what_cannot_be_compared_is_one_clear_error(samespin, arguments, code, told):
    ran = samespin("compare", *arguments)
    assert ran.code == code
    assert told in ran.err
    assert "Traceback" not in ran.err
    assert ran.out == ""
    assert "error" in json.loads(samespin("compare", *arguments, "--json").out)["format"]
