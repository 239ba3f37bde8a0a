"""`samespin window` as a person runs it."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from optimizer_texts import FOLDER
from oracles.balls import about_centre
from oracles.lineups import Line, manufactured

pytestmark = pytest.mark.usefixtures("remembered")

SVG = "{http://www.w3.org/2000/svg}"


def test_json_has_the_outlines_in_inches(samespin):
    ran = samespin("window", "alder.toml", "--json")
    assert ran.code == 0
    data = json.loads(ran.out)
    assert data["format"] == "samespin/window@1"
    assert [one["label"] for one in data["weights"]] == ["16", "15", "14", "13"]
    for outline in (data["common"], *(one["window"] for one in data["weights"])):
        assert len(outline) > 4
        assert all(2.3 < rg < 3.0 and 0.0 <= differential < 0.07 for rg, differential in outline)
    assert data["common_reach"]["error_in"] <= 0.00002
    assert data["common_reach"]["pieces"][0]["edges"][0]["limits"][0]["words"]


def test_the_target_of_a_line_that_solves_is_in_the_shared_window(samespin):
    assert "inside the shared window" in samespin("window", "alder.toml").out


def test_the_chart_fits_80_columns(samespin):
    lines = samespin("window", "alder.toml").out.splitlines()
    first = next(k for k, line in enumerate(lines) if line.startswith("differential, in"))
    last = next(k for k, line in enumerate(lines) if "target" in line and k > first)
    assert last - first > 20
    assert max(map(len, lines[first : last + 1])) <= 80
    assert any("+" in line and ":" in line for line in lines[first:last])


def test_the_picture_is_a_drawing_with_its_labels(samespin, folder):
    assert samespin("window", "alder.toml", "--picture", "alder.svg").code == 0
    root = ET.parse(folder / "alder.svg").getroot()  # noqa: S314 - our own
    words = [text.text or "" for text in root.iter(f"{SVG}text")]
    for expected in (
        "low RG, in",
        "differential, in",
        "16 lb",
        "all weights",
        "target ± tolerance",
    ):
        assert expected in words
    assert any("density max" in text for text in words)
    paths = list(root.iter(f"{SVG}path"))
    windows = [path for path in paths if path.get("class") == "window"]
    assert len({path.get("stroke-dasharray") for path in windows}) == len(windows) == 4
    assert sum(path.get("class") == "shared" for path in paths) == 1
    assert sum(path.get("class") == "target" for path in paths) == 1


def test_names_in_the_picture_are_escaped(samespin, folder):
    text = (folder / "alder.toml").read_text(encoding="utf-8")
    name = next(line for line in text.splitlines() if line.startswith("name"))
    (folder / "odd.toml").write_text(text.replace(name, 'name = "<Al & der>"'), encoding="utf-8")
    assert samespin("window", "odd.toml", "--picture", "odd.svg").code == 0
    assert "<Al & der>" in (ET.parse(folder / "odd.svg").getroot()[0].text or "")  # noqa: S314


def test_a_picture_is_never_written_over_another(samespin, folder):
    (folder / "there.svg").write_text("mine")
    ran = samespin("window", "alder.toml", "--picture", "there.svg")
    assert ran.code == 3
    assert (folder / "there.svg").read_text() == "mine"
    assert samespin("window", "alder.toml", "--picture", "there.svg", "--force").code == 0
    assert samespin("window", "alder.toml", "--picture", "there.png").code == 2


def test_without_a_target_it_works_all_the_same(samespin):
    """Birch: two densities for weight, RG and differential, so its window is a line."""
    ran = samespin("window", "birch.toml")
    assert ran.code == 0
    assert "a line or a point" in ran.out
    assert "Target" not in ran.out


def test_nothing_to_share_is_exit_code_4(samespin, folder):
    text = (folder / "birch.toml").read_text()
    (folder / "far.toml").write_text(text.replace("15 = 15.1", "15 = 15.1\n9 = 40.0"))
    ran = samespin("window", "far.toml", "--json")
    data = json.loads(ran.out)
    assert ran.code == 4
    assert data["common"] == []
    assert data["weights"][1]["window"] == []
    assert samespin("window", "far.toml", "--picture", "far.svg").code == 4


def test_a_file_and_a_picture_are_written_together(samespin, folder):
    ran = samespin("window", "alder.toml", "-o", "w.json", "--picture", "w.svg", "--json")
    assert json.loads(ran.out) == {"written": ["w.json", "w.svg"]}
    saved = json.loads((folder / "w.json").read_text(encoding="utf-8"))
    assert saved["format"] == "samespin/window@1"


@pytest.mark.turns(4, "yew")
@pytest.mark.parametrize("name", ["yew", "larch-metric", "rowan", "two-pours"])
def test_every_example_has_its_windows(samespin, name):
    path = FOLDER / f"{name}.toml"
    ran = samespin("window", str(path), "--json")
    assert ran.code == (4 if name == "two-pours" else 0)
    data = json.loads(ran.out)
    for one in data["weights"]:
        assert one["known"]
        if data["common"]:
            low, high = data["common_reach"]["rg_in"]
            assert one["rg_in"][0] - 1e-4 <= low <= high <= one["rg_in"][1] + 1e-4


def test_a_ball_whose_pin_axis_has_the_high_rg_is_in_the_window(samespin, folder):
    """A flat block: `solve` finds the ball, so the window isn't none and the target is inside."""
    random = np.random.default_rng(5)
    line, densities = manufactured(random, "aligned", "cg")
    while about_centre(line.solids, densities)[2][2, 2] <= 1.001 * _across(line, densities):
        line, densities = manufactured(random, "aligned", "cg")
    (folder / "flat.toml").write_text(line.text(), encoding="utf-8")
    assert samespin("solve", "flat.toml").code == 0
    ran = samespin("window", "flat.toml")
    assert ran.code == 0
    assert "inside the shared window" in ran.out
    assert "counts balls whose low-RG axis is not the pin axis, too" in ran.out
    none = line.but(intermediate=(0.0, 0.0)).text()
    (folder / "none.toml").write_text(none, encoding="utf-8")
    assert samespin("solve", "none.toml").code == 4
    assert "inside the shared window" not in samespin("window", "none.toml").out
    data = json.loads(samespin("window", "none.toml", "--json").out)
    assert data["target"]["intermediate_differential_in"] == [0.0, 0.0]


def _across(line: Line, densities: tuple[float, ...]) -> float:
    return float(about_centre(line.solids, densities)[2][0, 0])
