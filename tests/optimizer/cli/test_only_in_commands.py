"""Every command on a line whose lightest weight has a core of its own: its figures, its gaps."""

from __future__ import annotations

import csv
import json

import pytest
import two_cores
from oracles.lineups import POUND

pytestmark = pytest.mark.usefixtures("remembered")

HEAVY = ["cover", "keel", "mantle", "spindle", "crown"]
LIGHT = ["cover", "light keel", "light spindle", "mantle"]


def _in_scope(label):
    return LIGHT if label == "12" else HEAVY


@pytest.fixture
def hornbeam(folder):
    """The line, and with one figure of its target free, and with a mould to pick."""
    text = two_cores.text(("15", "12"))
    (folder / "hornbeam.toml").write_text(text)
    free = text.replace("rg = 2.575", "rg = { min = 2.565, max = 2.585 }")
    (folder / "free.toml").write_text(free)
    rack = text.replace("diameter = 3.2,", 'diameter = "thin",')
    rack = rack.replace("[weights]", "[dimensions]\nthin = { one_of = [3.1, 3.2] }\n[weights]")
    (folder / "rack.toml").write_text(rack)
    return folder


@pytest.fixture
def solved(samespin, hornbeam):
    """What solve says of it as data, saved beside it."""
    assert samespin("solve", "hornbeam.toml", "-o", "hornbeam.json").code == 0
    return json.loads((hornbeam / "hornbeam.json").read_text())


def test_solve_and_what_is_saved(samespin, solved, hornbeam):
    for row in solved["weights"]:
        densities = row["densities_g_cm3"]
        assert sorted(densities) == sorted(row["volumes_cm3"]) == sorted(_in_scope(row["label"]))
        assert [part["name"] for part in row["parts"]] == [*densities]
        mass, radii, top = two_cores.measured(densities)
        assert row["weight_lb"] == pytest.approx(mass / POUND, rel=1e-8)
        assert row["rg_low_in"] == pytest.approx(radii[0], rel=1e-8)
        assert row["differential_in"] == pytest.approx(radii[2] - radii[0], abs=1e-8)
        assert row["top_weight_oz"] == pytest.approx(top, rel=1e-8)
    shown = samespin("solve", "hornbeam.toml").out
    cells = {
        row.split("(")[0].strip(): row.split(")")[1] for row in shown.splitlines() if "(" in row
    }
    assert cells["keel"].endswith("not in it")
    assert cells["light keel"].strip().startswith("not in it")
    assert samespin("report", "hornbeam.json", "-o", "page.html").code == 0
    assert samespin("report", "page.html", "-o", "again.html").code == 0
    assert (hornbeam / "page.html").read_bytes() == (hornbeam / "again.html").read_bytes()

    wrong = json.loads((hornbeam / "hornbeam.json").read_text())
    wrong["weights"][1]["densities_g_cm3"]["keel"] = 2.0
    (hornbeam / "wrong.json").write_text(json.dumps(wrong))
    refused = samespin("report", "wrong.json", "-o", "wrong.html")
    assert refused.code == 3
    assert "weights[12].densities_g_cm3.keel does not follow" in refused.err


def test_check_measures_the_weights_that_are_given_whole(samespin, solved):
    (row,) = (row for row in solved["weights"] if row["label"] == "12")
    given = [
        word
        for part, density in row["densities_g_cm3"].items()
        for word in ("--density", f"{part}={density}")
    ]
    found = json.loads(samespin("check", "hornbeam.toml", *given, "--json").out)
    (one,) = found["measured"]
    assert one["label"] == "12"
    assert one["rg_low_in"] == row["rg_low_in"]
    assert one["densities_g_cm3"] == row["densities_g_cm3"]
    assert found["free"]["densities"] == 3
    screen = samespin("check", "hornbeam.toml").out
    assert "5 free densities in 15 (cover, mantle, spindle, keel and crown); 4 free" in screen
    assert "9 in the line of 2 weights" in screen
    lightest = {one["label"]: one["lightest_lb"] for one in found["weights"]}
    assert lightest["12"] == pytest.approx(row["weight_lb"], rel=1e-8)
    volumes = {one["label"]: sum(one["volumes_cm3"].values()) for one in found["weights"]}
    assert volumes["12"] == pytest.approx(volumes["15"], rel=1e-9)


def test_window_and_trade_are_those_of_its_own_parts(samespin, hornbeam):
    """The light weight reaches what it reaches as a scenario of its own, without `only_in`."""
    (hornbeam / "light.toml").write_text(two_cores.text(("12",)))
    heavy, light = json.loads(samespin("window", "hornbeam.toml", "--json").out)["weights"]
    (alone,) = json.loads(samespin("window", "light.toml", "--json").out)["weights"]
    assert heavy["rg_in"] != light["rg_in"]
    for one in (light, alone):
        del one["common_without"]
    assert light == alone
    trade = json.loads(samespin("solve", "free.toml", "--trade", "rg", "--json").out)
    least = trade["curve"][0]["smallest_margin"]
    assert (least["weight"], least["part"]) == ("12", "cover")
    (hornbeam / "least.toml").write_text(two_cores.text(("12",)).replace("2.575", "2.565"))
    own = json.loads(samespin("solve", "least.toml", "--json").out)
    smallest = min(m["tolerances"] for m in own["weights"][0]["margins"] if m["tolerances"])
    assert trade["curve"][0]["tolerances"] == pytest.approx(smallest, abs=1e-6)


def test_sharing_counts_the_pours_that_there_are(samespin, solved):
    """Nine castings, of which spindle and crown, of one material, happen to be poured alike."""
    densities = [row["densities_g_cm3"] for row in solved["weights"]]
    assert densities[0]["crown"] == densities[0]["spindle"]
    shared = json.loads(samespin("sharing", "hornbeam.toml", "--json").out)
    assert shared["as_it_stands"]["pours"] == sum(map(len, densities)) - 1 == 8
    for point in (shared["as_it_stands"], *shared["frontier"]):
        poured = {(one["part"], one["weight"]) for r in point["recipes"] for one in r["poured"]}
        assert poured == {(part, label) for label in ("15", "12") for part in _in_scope(label)}
    assert set(shared["one_density_in_every_weight"]) == {"cover", "mantle"}


def test_schedule_pours_what_stands_there(samespin, solved, hornbeam):
    assert solved["status"] == "feasible"
    sheet = json.loads(samespin("schedule", "hornbeam.json", "--json").out)
    for one in sheet["weights"]:
        poured = {pour["part"]: pour["density_g_cm3"] for pour in one["pours"]}
        assert sorted(poured) == sorted(_in_scope(one["label"]))
        assert sum(pour["mass_g"] for pour in one["pours"]) == pytest.approx(one["mass_g"])
        mass, radii, _ = two_cores.measured(poured)
        assert one["mass_g"] == pytest.approx(mass, abs=0.05)
        assert one["about_cg"]["rg_low_in"] == pytest.approx(radii[0], abs=2e-5)
        assert [casting["part"] for casting in one["castings"]] == [*poured]
    assert samespin("schedule", "hornbeam.json", "-o", "sheet.csv").code == 0
    rows = list(csv.reader((hornbeam / "sheet.csv").read_text("utf-8-sig").splitlines()))
    head = next(row for row in rows if row[:1] == ["weight class"] and "true mass, g" in row)
    line = {
        row[0]: dict(zip(head, row, strict=False))
        for row in rows
        if row and row[0] in ("15 lb", "12 lb")
    }
    assert line["12 lb"]["keel, g/cm³"] == line["15 lb"]["light keel, g/cm³"] == "not in it"
    assert float(line["12 lb"]["light keel, g/cm³"]) > 0.0
    assert samespin("schedule", "hornbeam.json", "--verify", "sheet.csv").code == 0
    assert samespin("schedule", "hornbeam.json", "-o", "sheet.xlsx").code == 0
    assert samespin("schedule", "hornbeam.json", "-o", "moulds.dxf").code == 0
    drawn = (hornbeam / "moulds.dxf").read_text()
    assert "light keel" in drawn
    assert "Mould for 12 lb" in drawn


def test_explore_and_compare(samespin, hornbeam):
    done = samespin("explore", "rack.toml", "--samples", "2", "-o", "table.csv")
    assert done.code == 0
    (first, second) = csv.DictReader((hornbeam / "table.csv").read_text("utf-8-sig").splitlines())
    assert [one["thin [in] 12"] for one in (first, second)] == ["3.1", "3.2"]
    other = two_cores.text(("15", "14", "12")).replace('only_in = ["15", "14"]', 'only_in = ["15"]')
    assert other.count('only_in = ["15"]') == 2
    other = other.replace('only_in = ["12"]', 'only_in = ["14", "12"]')
    (hornbeam / "other.toml").write_text(other)
    held = json.loads(samespin("compare", "hornbeam.toml", "other.toml", "--json").out)
    assert [one["moulds"] for one in held["candidates"]] == [2, 2]
    assert [one["pours"] for one in held["candidates"]] == [8, 12]
    shown = samespin("compare", "hornbeam.toml", "other.toml").out
    assert "Part light keel, stands in: 12 → 12, 14" in shown
    assert "stands in: every weight" not in shown


def test_a_dimension_from_the_rack_is_saved_for_its_weights(samespin, hornbeam):
    assert samespin("solve", "rack.toml", "-o", "rack.json").code == 0
    rows = json.loads((hornbeam / "rack.json").read_text())["weights"]
    assert [row["dimensions"].keys() for row in rows] == [{}.keys(), {"thin": 0}.keys()]
    again = samespin("report", "rack.json", "-o", "rack.html")
    assert again.code == 0
    shown = samespin("solve", "rack.toml").out
    (line,) = [row for row in shown.splitlines() if row.strip().startswith("thin ")]
    assert line.split()[1:4] == ["not", "in", "it"]
