"""A target that can't be met exactly, but is within its tolerances: every command, and all agree.

The ball is a sphere with a spheroid in its middle. Mass and RGs at chosen densities are closed
forms (sphere: 2/5 m R²; spheroid: 2/5 m a² about its axis, m (a² + c²) / 5 across), and the target
is asked a known share of each tolerance beside them.
"""

from __future__ import annotations

import json
import math

import pytest
from optimizer_texts import head

pytestmark = pytest.mark.usefixtures("remembered")

COVER, BLOCK = 1.10, 2.20
R, A, C = 8.58 / 2, 4.0 / 2, 5.0 / 2
CM3, POUND = 2.54**3, 453.59237
TOLERANCES = (0.06, 0.003, 0.001)
OFF = (0.2, -0.5, 0.4)
"""Tolerances of weight, low RG and differential that the ball is above what is asked."""
LEFT = 1.0 - max(abs(off) for off in OFF)


def _figures() -> tuple[float, float, float]:
    """Weight (lb), low RG and differential (in) of the ball at the chosen densities."""
    ball, block = (4.0 / 3.0 * math.pi * v * CM3 for v in (R**3, A * A * C))
    outer, inner = COVER * ball, (BLOCK - COVER) * block
    mass = outer + inner
    along = 0.4 * (outer * R * R + inner * A * A)
    across = 0.4 * outer * R * R + 0.2 * inner * (A * A + C * C)
    low, high = math.sqrt(along / mass), math.sqrt(across / mass)
    return mass / POUND, low, high - low


def _text(cover: str, block: str) -> str:
    weight, rg, differential = (
        figure - off * tolerance
        for figure, off, tolerance in zip(_figures(), OFF, TOLERANCES, strict=True)
    )
    return f"""\
{head("Rosemary", {"15": weight}, (rg, differential))}
[materials.shell]
density = {cover}
tolerance = 0.02
[materials.dense]
density = {block}
tolerance = 0.02
[[parts]]
name = "cover"
shape = {{ kind = "sphere", diameter = 8.58 }}
material = "shell"
[[parts]]
name = "block"
inside = "cover"
shape = {{ kind = "spheroid", diameter = 4.0, height = 5.0 }}
material = "dense"
[limits]
wall = {{ min = 0.2, tolerance = 0.02 }}
"""


@pytest.fixture
def given(folder):
    """The ball with both densities given: nothing is left to be found."""
    (folder / "given.toml").write_text(_text(str(COVER), str(BLOCK)))
    return "given.toml"


@pytest.fixture
def free(folder):
    """The same with ranges: two densities for three figures."""
    (folder / "free.toml").write_text(_text("[1.0, 1.3]", "[1.5, 3.0]"))
    return "free.toml"


def test_solve_says_by_how_much_and_is_done(samespin, given):
    ran = samespin("solve", given)
    assert (ran.code, ran.err) == (0, "")
    assert "WITHIN TOLERANCE" in ran.out
    assert "at most 0.50 tolerances off (15 lb: low RG -0.00150 in)" in ran.out
    assert "low RG 2." in ran.out
    data = json.loads(samespin("solve", given, "--json").out)
    assert data["status"] == "within_tolerance"
    assert data["infeasible"] is None
    (weight,) = data["weights"]
    assert weight["within_tolerance"] is True
    found = [weight[key] for key in ("weight_lb", "rg_low_in", "differential_in")]
    assert found == pytest.approx(_figures(), abs=1e-7)
    rooms = [m for m in weight["margins"] if m["limit"].endswith("within tolerance")]
    left = [1.0 - abs(off) for off in OFF]
    assert [room["tolerances"] for room in rooms] == pytest.approx(left, abs=1e-5)
    assert data["smallest_margin"]["tolerances"] == pytest.approx(LEFT, abs=1e-5)
    largest = data["largest_deviation"]
    assert (largest["weight"], largest["target"], largest["unit"]) == ("15", "rg", "in")
    assert largest["off"] == pytest.approx(OFF[1] * 0.003, abs=1e-8)
    assert largest["tolerances"] == pytest.approx(OFF[1], abs=1e-5)
    asked = _figures()[1] - OFF[1] * 0.003
    assert data["target"]["rg_in"] == pytest.approx(asked, abs=1e-8)  # stays as asked


def test_what_is_free_is_brought_nearer_than_any_ball_that_is_known(samespin, free):
    data = json.loads(samespin("solve", free, "--json").out)
    assert data["status"] == "within_tolerance"
    assert LEFT < data["smallest_margin"]["tolerances"] < 1.0


def test_what_is_left_of_a_tolerance_counts_for_fail_under(samespin, given):
    assert samespin("solve", given, "--fail-under", f"{LEFT - 0.01}").code == 0
    assert samespin("solve", given, "--fail-under", f"{LEFT + 0.01}").code == 5


def test_exact_refuses_it(samespin, given):
    ran = samespin("solve", given, "--exact", "--json")
    assert ran.code == 4
    data = json.loads(ran.out)
    assert data["status"] == "infeasible"
    assert data["largest_deviation"] is None
    assert not any(m["limit"].endswith("within tolerance") for m in data["weights"][0]["margins"])
    words = " ".join(claim["words"] for claim in data["infeasible"]["conflict"])
    assert "±" not in words


def test_check_and_window_say_the_same(samespin, given):
    checked = samespin("check", given)
    assert checked.code == 0
    assert "off target (" not in checked.out
    ran = samespin("window", given)
    assert ran.code == 0
    assert "Exact target: outside; within tolerance: yes." in ran.out


@pytest.mark.parametrize("reader", ["schedule", "report", "compare"])
def test_every_command_takes_the_saved_line_up(samespin, given, folder, reader):
    assert samespin("solve", given, "-o", "saved.json").code == 0
    sources = ("saved.json", "saved.json") if reader == "compare" else ("saved.json",)
    ran = samespin(reader, *sources, "-o", f"{reader}.html")
    assert (ran.code, ran.err) == (0, f"written: {reader}.html\n")
    page = (folder / f"{reader}.html").read_text(encoding="utf-8")
    assert "INFEASIBLE" not in page
    assert "no solution" not in page


def test_a_saved_line_up_that_is_off_by_more_is_refused(samespin, given, folder):
    """The same solution, its scenario's tolerance narrowed: what is saved doesn't follow."""
    assert samespin("solve", given, "-o", "saved.json").code == 0
    saved = (folder / "saved.json").read_text(encoding="utf-8")
    (folder / "saved.json").write_text(saved.replace('"within_tolerance"', '"feasible"'))
    assert samespin("schedule", "saved.json").code == 3


def test_steps_keep_it_within_tolerance_or_there_is_no_sheet(samespin, free, folder):
    """Steps of 0.001 g/cm³ leave it within; steps of 0.2 take every line-up out of tolerance."""
    text = (folder / free).read_text()
    for step, code in (("0.001", 0), ("0.2", 6)):
        stepped = text.replace("tolerance = 0.02\n", f"tolerance = 0.02\nstep = {step}\n", 2)
        (folder / "stepped.toml").write_text(stepped)
        ran = samespin("schedule", "stepped.toml", "--json")
        assert ran.code == code
