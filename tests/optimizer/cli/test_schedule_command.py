"""`schedule` as a foundry asks for it: recipes, scales, steps, batches, and what can't be held."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest
from optimizer_texts import shipped

pytestmark = pytest.mark.usefixtures("remembered")

JUNIPER = shipped("juniper")


@pytest.fixture
def line(folder):
    """Write the example with some of its text changed; return its file's name."""

    def write(*changes, name="juniper.toml"):
        text = JUNIPER
        for was, now in changes:
            assert was in text
            text = text.replace(was, now)
        (folder / name).write_text(text, encoding="utf-8")
        return name

    return write


def test_batches_fill_the_mixer_and_the_sheet_that_is_verified_says_for_how_many(samespin, line):
    name = line()
    assert (
        samespin("schedule", name, "--balls", "40", "--date", "2026-11-25", "-o", "a.csv").code == 0
    )
    ran = samespin("schedule", name, "--verify", "a.csv")
    assert (ran.code, ran.err) == (0, "")
    assert "40 balls of a weight class" in Path("a.csv").read_text("utf-8")
    fewer = samespin("schedule", name, "--balls", "20", "--verify", "a.csv")
    assert (fewer.code, fewer.out) == (3, "")
    assert "a.csv: is for 40 balls of a weight, and --balls asks for 20" in fewer.err
    data = json.loads(samespin("schedule", name, "--balls", "40", "--json").out)
    assert data["balls"] == 40
    for weight in data["weights"]:
        for one in weight["castings"]:
            grams = sum(entry["mass_g"] for entry in one["weigh_out"])
            assert grams / one["liquid_density_g_cm3"] <= 20_000 * 1.0005
            assert one["batches"] * one["balls_per_batch"] >= 40


def test_a_scale_too_coarse_is_told_with_its_line_and_by_how_much(samespin, line):
    name = line(("scale      = 1.0 ", "scale      = 50 "), ("fine_scale = {", "# fine_scale = {"))
    ran = samespin("schedule", name)
    assert (ran.code, ran.out) == (3, "")
    place = (
        JUNIPER.splitlines().index(next(r for r in JUNIPER.splitlines() if r[:5] == "scale")) + 1
    )
    assert f"juniper.toml:{place}:1: foundry scale: is too coarse: weight " in ran.err
    assert "tolerances (50); use a finer scale" in ran.err


def test_a_scale_that_shows_nothing_of_the_resin_is_told(samespin, line):
    name = line(("scale      = 1.0 ", "scale      = 500 "), ("fine_scale = {", "# fine_scale = {"))
    ran = samespin("schedule", name)
    assert (ran.code, ran.out) == (3, "")
    assert "foundry scale: is too coarse: it shows nothing of the " in ran.err


def test_steps_that_hold_no_line_up_say_what_is_missed(samespin, line):
    name = line(("step      = 0.01", "step      = 0.4"), ("density = 0.15 }", "density = 0.15 }"))
    ran = samespin("schedule", name)
    assert ran.code in {3, 6}
    assert ran.out == ""
    assert "step" in ran.err
    assert "Traceback" not in ran.err


def test_a_core_that_pulls_too_hard_is_exit_4_with_the_sheet(samespin, line):
    ran = samespin("schedule", line(("hold_down  = 40", "hold_down  = 10")))
    assert ran.code == 4
    assert "Warning: weight 16 lb, mantle: the spindle held in it pulls down with " in ran.out
    assert "more than the 10 N that what holds it can take" in ran.out
    assert "Weigh-out, weight class 16 lb: each batch, in this order" in ran.out


def test_a_force_too_strong_is_told_where_the_sheet_goes_to_a_file(samespin, line):
    ran = samespin("schedule", line(("hold_down  = 40", "hold_down  = 10")), "-o", "a.html")
    assert ran.code == 4
    assert "written: a.html" in ran.out + ran.err
    assert ran.err.count("more than the 10 N that what holds it can take") == 4


def test_a_scale_coarser_than_the_line_needs_is_told(samespin, line):
    name = line(("scale      = 1.0 ", "scale      = 5 "), ("fine_scale = {", "# fine_scale = {"))
    ran = samespin("schedule", name)
    assert ran.code == 0
    assert "Warning: the shop's scale reads to 5 g, coarser than that" in ran.out


def test_where_every_ingredient_has_a_price_the_sheet_says_what_the_line_costs(samespin, line):
    """Reckoned again from the rows: grams × price of a kg, and their sum."""
    lots = {
        "polyurethane": (1.11, 6.5), "polyester": (1.13, 2.2), "epoxy": (1.20, 5.0),
        "calcite": (2.71, 0.3), "barite": (4.35, 0.9), "glass bubbles": (0.15, 9.0),
        "iron powder": (7.874, 1.5),
    }  # fmt: skip
    written = [f'"{k}" = {{ density = {d}, price = {p} }}' for k, (d, p) in lots.items()]
    start, end = JUNIPER.index("barite          ="), JUNIPER.index("# `void` and")
    name = line((JUNIPER[start:end], "\n".join([*written, "\n"])))
    assert samespin("schedule", name, "-o", "a.csv").code == 0
    rows = list(csv.reader(Path("a.csv").read_text("utf-8").splitlines()))
    first = next(k for k, row in enumerate(rows) if row[:1] == ["ingredient"])
    assert rows[first][3:] == ["price of a kg", "cost"]
    total = 0.0
    for row in rows[first + 1 : first + 1 + len(lots)]:
        assert float(row[3]) == lots[row[0]][1]
        assert float(row[4]) == pytest.approx(float(row[2]) * lots[row[0]][1] / 1000, abs=0.00501)
        total += float(row[4])
    last = rows[first + 1 + len(lots)]
    assert last[0] == "whole line"
    assert float(last[4]) == pytest.approx(total, abs=1e-9)


@pytest.mark.parametrize(
    ("shape", "told"),
    [
        (
            '{ kind = "ellipsoid", diameters = [3.2, 3.3, 6.10] }',
            r"diameters 3\.2\d\d × 3\.3\d\d × 6\.1\d\d",
        ),
        (
            '{ kind = "cone", bottom = 3.4, top = 3.0, height = 5.7 }',
            r"bottom 3\.4\d\d, top 3\.0\d\d, height 5\.7\d\d",
        ),
        (
            '{ kind = "spheroid", diameter = 3.30, height = 6.10 }\nstretch = [1, 1, 1.01]',
            r"as drawn × 1\.00\d\d",
        ),
    ],
    ids=["lengths in a list", "lengths by name", "stretched"],
)
def test_a_mould_is_told_by_the_keys_of_its_shape(samespin, line, shape, told):
    ran = samespin(
        "schedule", line(('{ kind = "spheroid", diameter = 3.30, height = 6.10 }', shape))
    )
    assert ran.code == 0, ran.err
    assert re.search(rf"\nspindle +1\.00\d\d +{told} ", ran.out)


def test_a_metric_sheet_proves_its_rgs_in_mm(samespin, folder):
    (folder / "larch.toml").write_text(shipped("larch-metric"), encoding="utf-8")
    out = samespin("schedule", "larch.toml").out
    proof = [row.split() for row in out.splitlines() if row.startswith("intermediate RG, ")]
    inches = [float(row[-1]) for row in proof if row[2] == "in"]
    metric = [float(row[-1]) for row in proof if row[2] == "mm"]
    assert len(inches) == len(metric) > 0
    assert metric == pytest.approx([25.4 * one for one in inches], abs=2e-4)


def test_a_mixer_too_small_is_told_once_a_part(samespin, line):
    ran = samespin("schedule", line(("mixer      = 20.0", "mixer      = 0.2")))
    assert (ran.code, ran.out) == (3, "")
    assert "foundry mixer: does not hold the 0.28 litres that one ball's keel takes" in ran.err


def test_a_schedule_of_a_saved_solution_is_the_same(samespin, line):
    name = line()
    assert samespin("solve", name, "-o", "j.json").code == 0
    assert samespin("schedule", "j.json").out == samespin("schedule", name).out


def test_the_best_on_the_steps_is_proven_to_whoever_checks_the_file(samespin, line, folder):
    """The sheet is the same as without; in another scenario's steps nothing is shown."""
    name, coarser = line(), line(("step      = 0.01", "step      = 0.02"), name="coarser.toml")
    sheet = samespin("schedule", name)
    ran = samespin("schedule", name, "--proof", "p.json")
    assert (ran.code, ran.out) == (0, sheet.out)
    told = [row for row in ran.err.splitlines() if "largest deviation" in row]
    assert [row.split(":")[0] for row in told] == ["16", "15", "14", "13"]
    assert all("the best on the steps within 3 of the line-up: proven" in row for row in told)
    checked = samespin("proof", "p.json")
    assert checked.code == 0
    assert "8 claims, each shown" in checked.out
    assert re.search(
        r"16, looked at: cover [\d.]+ to [\d.]+ g/cm³ in whole steps of 0.01", checked.out
    )
    other = samespin("proof", "p.json", "--scenario", coarser)
    assert other.code == 4
    assert "16: cover is poured in steps that the scenario doesn't have" in other.out
    claim = json.loads((folder / "p.json").read_text("utf-8"))["claims"][0]
    assert claim["question"]["steps"] == dict.fromkeys("01234", 0.01)


def test_a_sheet_that_is_refused_leaves_the_proof_why(samespin, line, folder):
    name = line(("step      = 0.01", "step      = 0.2"))
    ran = samespin("schedule", name, "--proof", "p.json", "--json")
    assert ran.code == 6
    assert (
        "proven that none there misses by less than 4.49"
        in json.loads(ran.out)["errors"][0]["what"]
    )
    assert samespin("proof", "p.json").code == 0


def test_a_proof_is_neither_written_over_nor_beside_a_sheet_that_is_verified(
    samespin, line, folder
):
    name = line()
    (folder / "p.json").write_text("{}")
    assert samespin("schedule", name, "--proof", "p.json").code == 3
    assert samespin("schedule", name, "--proof", "p.toml").code == 2
    ran = samespin("schedule", name, "--verify", "x.csv", "--proof", "q.json")
    assert ran.code == 2
    assert "leave --proof out" in ran.err
    assert (folder / "p.json").read_text() == "{}"
