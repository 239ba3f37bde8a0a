"""`samespin parts` as a person runs it."""

from __future__ import annotations

import csv
import json

import pytest
from optimizer_texts import FOLDER

pytestmark = pytest.mark.usefixtures("remembered")
SHARES = ("weight_share", *(f"rg_{k}_squared_share" for k in ("low", "intermediate", "high")))


def shipped(name: str) -> str:
    return str(FOLDER / f"{name}.toml")


@pytest.mark.parametrize("name", ["juniper", "larch-metric", "holly"])
def test_the_figures_in_json_add_up(samespin, name):
    ran = samespin("parts", shipped(name), "--json")
    assert (ran.code, ran.err) == (0, "")
    told = json.loads(ran.out)
    assert told["format"] == "samespin/parts@1"
    for weight in told["weights"]:
        for key in SHARES:
            assert abs(sum(part[key] for part in weight["parts"]) - 1.0) < 1e-12
        for key in ("weight_lb", "differential_in", "intermediate_differential_in"):
            assert abs(sum(part[key] for part in weight["parts"]) - weight[key]) < 1e-12


def test_the_screen_has_a_row_for_each_part_and_the_ball(samespin):
    out = samespin("parts", shipped("juniper")).out
    assert "From 16 lb to 13 lb, the mantle gives up" in out
    for name in ("cover", "mantle", "spindle", "keel", "girdle", "ball"):
        assert out.count(f"\n  {name} ") == 4
    assert "+0.01 g/cm³: weight, lb  +0.01: low RG, in  +0.01: differential, in" in out
    assert "what is there, not what would change without it" in out


def test_a_metric_line_is_told_in_its_units(samespin):
    out = samespin("parts", shipped("larch-metric")).out
    assert "+10 kg/m³: weight, kg" in out
    assert " lb " not in out.split("\n\n")[1].replace("16 lb", "")


def test_every_format_holds_the_table(samespin, folder):
    assert samespin("solve", shipped("juniper"), "-o", "j.json").code == 0
    for suffix in ("html", "csv", "xlsx", "json"):
        assert samespin("parts", "j.json", "-o", f"x.{suffix}").code == 0
    assert (folder / "x.html").read_text(encoding="utf-8").count("<svg") == 4
    with (folder / "x.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.reader(file) if row and row[0].strip() == "mantle"]
    assert len(rows) == 4
    assert samespin("parts", "j.json", "-o", "x.csv").code == 3
    assert samespin("parts", "j.json", "--pictures", "shown").code == 0
    assert [file.name for file in (folder / "shown").iterdir()] == ["parts.svg"]


def test_the_nearest_balls_are_shown_as_such(samespin):
    ran = samespin("parts", shipped("two-pours"))
    assert ran.code == 4
    assert "There is no solution: these balls are the nearest line-up" in ran.out
    assert "cover (fixed)" in ran.out


def test_the_report_has_them_too(samespin, folder):
    assert samespin("report", shipped("juniper"), "-o", "x.html").code == 0
    page = (folder / "x.html").read_text(encoding="utf-8")
    assert "What each part does" in page
    assert "the mantle gives up" in page
