"""`samespin tolerance` as a person runs it."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from optimizer_texts import FOLDER

pytestmark = pytest.mark.usefixtures("remembered")

SVG = "{http://www.w3.org/2000/svg}"
SHARES = {"16": 0.59, "15": 0.58, "14": 0.47, "13": 0.54}
"""Good balls of the demo at its declared tolerances, by a simulation of another's."""


def shipped(name: str) -> str:
    return str(FOLDER / f"{name}.toml")


@pytest.fixture
def told(samespin) -> dict:
    ran = samespin("tolerance", shipped("juniper"), "--json")
    assert ran.code == 0
    return json.loads(ran.out)


def test_the_promised_names_and_the_known_shares(told):
    assert told["format"] == "samespin/tolerance@1"
    by_label = {one["label"]: one for one in told["weights"]}
    for label, share in SHARES.items():
        one = by_label[label]
        low, high = one["good_interval"]
        assert low <= one["good_share"] <= high
        assert one["good_share"] == pytest.approx(share, abs=0.006)
        shares = one["variance_shares"]
        assert {"weight", "low RG", "differential"} <= shares.keys()
        assert shares["weight"]["mantle"] == pytest.approx(0.80, abs=0.01)
        for figure in ("weight", "low RG", "differential"):
            assert sum(shares[figure].values()) == pytest.approx(1.0)
            assert min(shares[figure].values()) >= 0.0
    assert told["line"]["good_share"] < min(SHARES.values())


def test_a_tighter_mantle_and_an_uncounted_diameter(told):
    half = {one["input"]: one for one in told["half_as_wide"]}
    assert half["mantle density"]["good_share"]["15"] == pytest.approx(0.81, abs=0.006)
    assert told["half_as_wide"][0]["input"] == "mantle density"
    (diameter,) = [one for one in told["not_counted"] if one["kind"] == "diameter"]
    known = {"16": 0.54, "15": 0.53, "14": 0.43, "13": 0.49}
    assert diameter["good_share"] == pytest.approx(known, abs=0.006)


def test_three_sigma_is_another_shop(samespin, tmp_path):
    text = (FOLDER / "juniper.toml").read_text(encoding="utf-8")
    file = tmp_path / "three.toml"
    spread = '[spread]\ndeclared = "3 sigma"\n\n[expected]'
    file.write_text(text.replace("[expected]", spread), encoding="utf-8")
    ran = samespin("tolerance", str(file))
    assert ran.code == 0
    shares = [float(share) for share in re.findall(r"([\d.]+) % at \d+ lb", ran.out)]
    assert len(shares) == 4
    assert all(83.5 < share < 91.5 for share in shares)
    assert "three standard deviations" in ran.out


def test_the_screen_says_what_is_assumed_and_what_is_not_counted(samespin):
    out = samespin("tolerance", shipped("juniper")).out
    assert "Assumed: the ± of cover density" in out
    assert 'declared = "uniform"' in out
    assert "Not counted" in out
    assert "Which single input, made tighter, buys most: mantle density." in out
    assert "over 99.9996 %" in out
    assert " 0 %" not in out.split("What varies")[0]  # a share of nothing is a bound


def test_the_page_has_both_pictures(samespin, tmp_path):
    page, folder = tmp_path / "page.html", tmp_path / "pictures"
    ran = samespin("tolerance", shipped("rowan"), "-o", str(page), "--pictures", str(folder))
    assert ran.code == 0
    text = page.read_text(encoding="utf-8")
    assert text.count("<svg") == 2
    assert "worst of all together" in text
    assert "a normal has no end" in text
    names = sorted(file.name for file in folder.iterdir())
    assert names == ["spread-cloud.svg", "spread-shares.svg"]
    cloud = ET.parse(folder / "spread-cloud.svg").getroot()  # noqa: S314 - our own
    outlines = [e for e in cloud.iter(f"{SVG}path") if e.get("class") == "cloud"]
    assert len(outlines) == 3 * 4


def test_without_a_line_up_there_is_nothing_to_spread(samespin):
    ran = samespin("tolerance", shipped("two-pours"))
    assert ran.code == 4
    assert "no ball to spread" in ran.err
    assert ran.out == ""


def test_solve_for_good_share_says_why_it_gains_nothing(samespin):
    ran = samespin("solve", shipped("juniper"), "--for", "good-share")
    assert ran.code == 0
    assert "Nothing is gained: no dimension and no figure of the target is free" in ran.out


def test_solve_for_good_share_draws_a_smaller_mantle(samespin, tmp_path):
    text = (FOLDER / "juniper.toml").read_text(encoding="utf-8")
    file, solved = tmp_path / "free.toml", tmp_path / "free.json"
    free = text.replace("diameter = 7.480", 'diameter = "bed"')
    free += "\n[dimensions]\nbed = { min = 7.3, max = 7.6, start = 7.48 }\n"
    file.write_text(free, encoding="utf-8")
    ran = samespin("solve", str(file), "--for", "good-share", "-o", str(solved))
    assert ran.code == 0
    good = json.loads(solved.read_text(encoding="utf-8"))["good_share"]
    assert min(good["picked"].values()) > min(good["for_margins"].values()) + 0.005
    bed = json.loads(solved.read_text(encoding="utf-8"))["weights"][0]["dimensions"]["bed"]
    assert bed == pytest.approx(7.3, abs=0.02)  # a lighter mantle spreads the weight less
    assert samespin("tolerance", str(solved)).code == 0
    # the scenario alone would be solved for margins: another drawing
    out = samespin("solve", str(file), "--for", "good-share").out
    assert f"Next: samespin solve {file} --for good-share -o NEW.json" in out


def test_a_word_that_is_no_time_is_refused(samespin):
    ran = samespin("solve", shipped("juniper"), "--for", "3 lb")
    assert ran.code == 2
    assert "a time with its unit" in ran.err


@pytest.fixture
def one(tmp_path) -> str:
    """A line of one weight, whose label has a dot."""
    text = (FOLDER / "juniper.toml").read_text(encoding="utf-8").split("[expected]")[0]
    text = re.sub(r"(?m)^1[3-6] = .*\n", "", text)
    file = tmp_path / "one.toml"
    label = '[weights]\n"15.5" = 15.50\n'
    file.write_text(re.sub(r"\[weights\].*\n", label, text), encoding="utf-8")
    return str(file)


def test_one_weight_is_told_without_lines(samespin, one):
    out = samespin("tolerance", one, "--share", "0.5").out
    assert "% at 15.5 lb." in out
    assert "lines" not in out
    assert "fewest" not in out
    assert "Today's are tight enough: with them, 58." in out
    assert "least cost found" not in out


def test_where_nothing_varies_the_page_says_so(samespin, one, tmp_path):
    text = re.sub(r"(?m)^tolerance += [\d.]+\n", "", Path(one).read_text(encoding="utf-8"))
    file, page = tmp_path / "none.toml", tmp_path / "none.html"
    file.write_text(text, encoding="utf-8")
    ran = samespin("tolerance", str(file), "--weighed", "-o", str(page))
    assert ran.code == 0
    assert "Nothing varies: no material has a tolerance" in ran.out
    assert "over 99.9996 % at 15.5 lb" in ran.out
    assert page.exists()
    text += "[spread]\nscale = 0.001\n"
    file.write_text(text, encoding="utf-8")
    assert "No single input, made tighter, buys more." in samespin("tolerance", str(file)).out


@pytest.mark.parametrize("share", ["0", "1", "90", "-0.2", "nan"])
def test_a_share_that_is_none_is_refused(samespin, one, share):
    ran = samespin("tolerance", one, "--share", share)
    assert ran.code == 3
    assert f"must lie between 0 and 1 ({share}); give 0.9 for 90 %" in ran.err
    assert ran.out == ""


def test_what_varies_together_and_what_does_not_fit_is_told(samespin, tmp_path):
    text = (FOLDER / "larch-metric.toml").read_text(encoding="utf-8").split("[expected]")[0]
    text += """[spread]
density.mantle = { uniform = 8, batch = [["16", "15"]] }
dimensions.lift = 0.4
position.plug.x = 20.0
correlation = [{ between = ["cover density", "belt density"], r = 0.5 }]
"""
    file = tmp_path / "together.toml"
    file.write_text(text, encoding="utf-8")
    out = samespin("tolerance", str(file)).out
    assert "- mantle density is off by the same at 16 lb and 15 lb: one batch." in out
    assert "- lift dimension is off by the same at 14 lb and 13.5 lb: one mould." in out
    assert (
        "- cover density and belt density vary together: a coefficient of correlation of 0.5" in out
    )
    # the block is 70 mm across at its top, the plug 44 mm, 10 mm below the top
    assert "spread of plug position x, plug may stick out of block by up to " in out
