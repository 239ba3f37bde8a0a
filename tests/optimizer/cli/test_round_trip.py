"""What one command writes the others read, for every shipped scenario and every kind of part."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from optimizer_texts import INCHES, SCENARIOS, cover, head
from oracles.toml_text import document

from geometry.shapes import SHAPES
from geometry.shapes.mesh import Mesh
from geometry.solids.joined import Joined
from optimizer.terminal.frame import DONE, INFEASIBLE
from shared.models import Reading

pytestmark = pytest.mark.usefixtures("remembered")

BALL = head(
    "Osier",
    {"16": 15.9, "14": 14.1},
    ("{ min = 2.2, max = 3.0 }", "{ min = 0.0, max = 0.5 }"),
    units=INCHES | {"length": "mm"},
)
BALL += cover(218)
BALL += """\
[[parts]]
name = "block"
inside = "cover"
material = "any"
"""
"""Two densities for the weight alone: any block will do."""
KINDS = [*(kind.example() for kind in SHAPES if kind is not Mesh), Joined.example()]
"""One of each kind; Linden has a mesh, and Holly a part that is set into several."""


def test_a_mesh_and_a_part_set_in_are_among_the_shipped() -> None:
    texts = {path.stem: path.read_text(encoding="utf-8") for path in SCENARIOS}
    assert 'kind = "mesh"' in texts["linden"]
    assert 'inside   = ["cover", "mantle"]' in texts["holly"]


@pytest.mark.turns(4)
@pytest.mark.parametrize("shape", KINDS, ids=lambda shape: type(shape).__name__.lower())
def test_a_line_with_any_kind_of_part_goes_through_every_command(shape, samespin, folder) -> None:
    written = shape.model_dump(mode="json", context=Reading(length=0.1))
    part = written if isinstance(shape, Joined) else {"shape": written}
    block = document({key: value for key, value in part.items() if key != "kind"})
    (folder / "line.toml").write_text(BALL + block, encoding="utf-8")
    _goes_round(samespin, folder, DONE)


def test_a_line_within_tolerance_goes_through_every_command(samespin, folder) -> None:
    """One block in two weights of the same balls but for 1.1 lb: their RGs can't be one."""
    near = BALL.replace("{ min = 2.2, max = 3.0 }", "2.55").replace(
        "{ min = 0.0, max = 0.5 }", "0.02"
    )
    near = near.replace("rg = 0.003, differential = 0.001", "rg = 0.2, differential = 0.1")
    block = document({"shape": {"kind": "spheroid", "diameter": 100.0, "height": 130.0}})
    (folder / "line.toml").write_text(near + block, encoding="utf-8")
    _goes_round(samespin, folder, DONE)
    told = json.loads((folder / "solved.json").read_text(encoding="utf-8"))
    assert told["status"] == "within_tolerance"


@pytest.mark.parametrize(
    "path",
    [
        path if path.stem == "linden" else pytest.param(path, marks=pytest.mark.slow)
        for path in SCENARIOS
    ],
    ids=lambda path: path.stem,
)
def test_a_shipped_line_goes_through_every_command(path, samespin, folder) -> None:
    for file in path.parent.glob("*.stl"):
        shutil.copy(file, folder)
    shutil.copy(path, folder / "line.toml")
    _goes_round(samespin, folder, INFEASIBLE if path.stem == "two-pours" else DONE)


def _goes_round(samespin, folder: Path, code: int) -> None:
    """Solve and report, then let each command read what was written: all say the same."""
    saved, page, again = "solved.json", "page.html", "again.html"
    assert samespin("solve", "line.toml", "-o", saved).code == code
    assert samespin("report", saved, "-o", page).code == code
    assert samespin("report", page, "-o", again).code == code
    assert (folder / again).read_bytes() == (folder / page).read_bytes()
    sheets = [samespin("schedule", source, "--json") for source in (saved, page)]
    assert [sheet.code for sheet in sheets] == [code] * 2
    assert sheets[0].out == sheets[1].out
    compared = samespin("compare", saved, page, again, "--json")
    assert (compared.code, compared.err) == (code, "")
    told = json.loads((folder / saved).read_text(encoding="utf-8"))
    for candidate in json.loads(compared.out)["candidates"]:
        assert candidate["status"] == told["status"]
        assert candidate["smallest_margin"] == told["smallest_margin"]
        for row, solved in zip(candidate["weights"], told["weights"], strict=True):
            assert row["densities_g_cm3"] == solved["densities_g_cm3"]
            assert row["rg_low_in"] == solved["rg_low_in"]
