"""The proof on a sheet: what a pocket calculator comes to from the printed figures alone."""

from __future__ import annotations

import csv
import io
from decimal import Decimal

import numpy as np
import pytest
from optimizer_texts import cover, head

from optimizer.lineup.result import LineupResult, Search
from optimizer.lineup.stating import measured
from optimizer.paper.document import Report
from optimizer.paper.writers import csv_
from optimizer.questions.schedule.data import schedule_data
from optimizer.questions.schedule.page import schedule_blocks
from optimizer.questions.schedule.pouring.schedule import schedule
from optimizer.questions.schedule.pouring.worksheet import worksheet
from optimizer.scenario import linear_maps, scenario
from shared.arrays import frozen

IN = 2.54
ALIGNED = head("Alder", {"15": 15.1}, (2.55, 0.03), revision="B")
ALIGNED += cover(8.58, high=3.5, tolerance=0.0125)
ALIGNED += """\
[[parts]]
name = "mantle"
inside = "cover"
shape = { kind = "sphere", diameter = 7.4 }
at = [0, 0, 0.05]
material = "any"
[[parts]]
name = "block"
inside = "mantle"
shape = { kind = "ellipsoid", diameters = [4.0, 4.6, 6.0] }
at = [0, 0, 0.3]
material = "any"
[[parts]]
name = "plug"
inside = "block"
shape = { kind = "capsule", diameter = 1.5, height = 4.0 }
at = [0, 0, 0.4]
material = "any"
"""
TILTED = ALIGNED.replace("at = [0, 0, 0.3]", "at = [0.15, -0.1, 0.3]\nrotate = [25, 15, 40]")
DENSITIES = (1.1812, 0.9057, 1.4873, 3.2001)


def result(text: str) -> LineupResult:
    read = scenario(text, file="alder.toml", target_required=True)
    (map_,) = linear_maps(read)
    figures = frozen([2.55 * IN, 0.03 * IN])
    weight = measured(map_.ball(frozen(DENSITIES)), figures)
    search = Search(complete=True, starts=1, programs=1, solver="none")
    return LineupResult(read, "feasible", tuple(figures), (weight,), None, search, ())


class Sheet:
    """The printed CSV, read as a spreadsheet reads it: text and numbers, nothing of ours."""

    def __init__(self, text: str) -> None:
        blocks = schedule_blocks(schedule(result(text)))
        printed = csv_.encoded(Report(blocks, {})).decode()
        self.rows = list(csv.reader(io.StringIO(printed, newline="")))

    def table(self, first: str) -> tuple[list[str], list[list[str]]]:
        """The header that begins with `first`, and the rows under it up to an empty one."""
        start = next(i for i, row in enumerate(self.rows) if row and row[0] == first)
        end = next(i for i in range(start, len(self.rows)) if not self.rows[i])
        return self.rows[start], [row for row in self.rows[start + 1 : end] if len(row) > 1]

    def pours(self) -> dict[str, dict[str, float]]:
        """The numbers of the pour table, by part, in its order."""
        header, rows = self.table("part")
        numbers = [row for row in rows if len(row) == len(header)]
        return {
            part: dict(zip(header[2:], map(float, cells), strict=True))
            for part, _, *cells in numbers
        }

    def proof(self) -> list[tuple[str, list[float], str]]:
        """Label, the regions' figures (none on a line of sums), and the ball's figure."""
        _, rows = self.table("figure")
        return [(row[0], [float(c) for c in row[1:-1] if c], row[-1]) for row in rows]


def line(proof, label: str, nth: int = 0):
    return [row for row in proof if row[0] == label][nth]


@pytest.mark.parametrize("text", [ALIGNED, TILTED])
def test_the_printed_weights_follow_from_volume_and_density(text) -> None:
    pours = Sheet(text).pours()
    assert list(pours) == ["plug", "block", "mantle", "cover"], "innermost first"
    running = 0.0
    for row in pours.values():
        assert row["mass, g"] == pytest.approx(
            row["volume, cm³"] * row["density, g/cm³"], abs=0.00501
        )
        running += row["mass, g"]
        assert row["running, g"] == pytest.approx(running, abs=1e-6)
        assert row["mass, oz"] == pytest.approx(row["mass, g"] / 28.349523125, abs=0.000501)
        assert row["±"] == 0.0125
    assert row["to class weight, g"] == pytest.approx(15.1 * 453.59237 - running, abs=0.00501)


@pytest.mark.parametrize("text", [ALIGNED, TILTED])
@pytest.mark.parametrize("nth", [0, 1], ids=["about the centre", "about the CG"])
def test_the_whole_proof_follows_from_its_printed_figures(text, nth) -> None:
    """Masses, CGs and own moments as printed; parallel axes, sums and RGs computed here anew."""
    proof = Sheet(text).proof()
    mass = np.array(line(proof, "mass m, g")[1])
    assert float(line(proof, "mass m, g")[2]) == pytest.approx(mass.sum(), abs=1e-6)
    assert float(line(proof, "mass m, lb")[2]) == pytest.approx(
        mass.sum() / 453.59237, abs=0.000501
    )
    cg = np.array([line(proof, f"CG {axis}, cm")[1] for axis in "xyz"])
    ball_cg = np.array([float(line(proof, f"CG {axis}, cm")[2]) for axis in "xyz"])
    assert ball_cg == pytest.approx(cg @ mass / mass.sum(), abs=0.0000501)

    x, y, z = cg - (ball_cg[:, None] if nth else 0.0)
    far = {"x": y * y + z * z, "y": x * x + z * z, "z": x * x + y * y,
           "xy": x * y, "xz": x * z, "yz": y * z}  # fmt: skip
    axes = ["x", "y", "z"] if text is ALIGNED else list(far)
    sums = {}
    for axis in axes:
        own = np.array(line(proof, f"I{axis} about own CG, g cm²")[1])
        printed = np.array(line(proof, f"m d² for I{axis}, g cm²", nth)[1])
        assert printed == pytest.approx(mass * far[axis], abs=0.0501)
        sums[axis] = float(line(proof, f"sum I{axis}, g cm²", nth)[2])
        assert sums[axis] == pytest.approx((own + printed).sum(), abs=1e-6)
    for axis in "xyz":
        rg = float(line(proof, f"RG {axis} = √(I{axis}/m), cm", nth)[2])
        assert rg == pytest.approx(np.sqrt(sums[axis] / mass.sum()), abs=0.00000501)

    p = {k: sums.get(k, 0.0) for k in ("xy", "xz", "yz")}
    tensor = np.array([
        [sums["x"], -p["xy"], -p["xz"]],
        [-p["xy"], sums["y"], -p["yz"]],
        [-p["xz"], -p["yz"], sums["z"]],
    ])  # fmt: skip
    radii = np.sqrt(np.linalg.eigvalsh(tensor) / mass.sum()) / IN
    told = [float(line(proof, f"{w} RG, in", nth)[2]) for w in ("low", "intermediate", "high")]
    assert told == pytest.approx(radii, abs=0.0000075)  # two roundings: cm, then in
    differential = float(line(proof, "differential, in", nth)[2])
    assert differential == pytest.approx(told[2] - told[0], abs=0.0000501)


@pytest.mark.parametrize("text", [ALIGNED, TILTED])
def test_the_printed_figures_are_those_of_the_ball(text) -> None:
    """What is printed comes within its last digits of the exact properties."""
    weight = result(text).weights[0]
    sheet = worksheet(weight.ball)
    properties = weight.ball.properties
    assert float(sheet.mass) == pytest.approx(properties.mass, abs=0.02)
    assert [float(c) for c in sheet.cg] == pytest.approx(properties.cg, abs=1e-4)
    for printed, exact in (
        (sheet.about("cg"), properties.about_cg),
        (sheet.about("centre"), properties.about_centre),
    ):
        assert [float(r) for r in printed.inches] == pytest.approx(exact.radii / IN, abs=2e-5)
        assert float(printed.differential) == pytest.approx(exact.differential / IN, abs=7e-5)


def test_products_of_inertia_stand_only_where_they_are_needed() -> None:
    aligned, tilted = (
        [row[0] for row in Sheet(text).table("figure")[1]] for text in (ALIGNED, TILTED)
    )
    assert not any("Ixy" in label for label in aligned)
    assert sum("Ixy" in label for label in tilted) == 5  # own, and twice: m d², sum


def test_the_sheet_has_the_blanks_that_a_batch_and_a_drawing_need() -> None:
    """Title block after ISO 7200, formula and blanks in ISA-88's sense (both second-hand)."""
    words = {cell for row in Sheet(ALIGNED).rows for cell in row}
    for field in (
        "legal owner", "document number", "title", "revision", "date of issue", "sheet", "status",
        "prepared by", "checked by", "approved by", "lot", "actual", "time", "temperature",
        "measured density", "initials", "second check",
    ):  # fmt: skip
        assert field in words


def test_the_sheet_says_how_it_is_rounded_and_that_it_approves_nothing() -> None:
    text = "\n".join(cell for row in Sheet(ALIGNED).rows for cell in row)
    for words in (
        "ASTM E29", "true masses", "about 0.012 lb less", "It approves nothing",
        "Local codes, the safety data sheets and the plant's own safety officer govern",
        "cast balls scatter more", "socyanate", "Styrene", "peroxide", "dust", "heavy to lift",
    ):  # fmt: skip
        assert words in text


def test_the_data_say_what_is_printed() -> None:
    sheet = Sheet(TILTED)
    (weight,) = schedule_data(schedule(result(TILTED)))["weights"]
    pours = sheet.pours()
    for pour in weight["pours"]:
        row = pours[pour["part"]]
        assert pour["mass_g"] == row["mass, g"]
        assert pour["running_g"] == row["running, g"]
        assert pour["density_g_cm3"] == row["density, g/cm³"]
    low = line(sheet.proof(), "low RG, in", 1)[2]
    assert Decimal(low) == Decimal(str(weight["about_cg"]["rg_low_in"]))
