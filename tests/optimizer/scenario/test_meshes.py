"""Meshes in scenarios: the file beside it, errors with their line, what is told of triangles."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from oracles import blocks, meshes
from typer.testing import CliRunner

from optimizer.cli.app import app
from optimizer.scenario import read_scenario
from shared.errors import InputError

runner = CliRunner()

LINDEN = (blocks.SCENARIO.parent / "linden.toml").read_text(encoding="utf-8")


@pytest.fixture
def linden(tmp_path: Path) -> Path:
    """The scenario and its block, to be spoilt."""
    (tmp_path / "linden.stl").write_bytes(blocks.SCENARIO.read_bytes())
    path = tmp_path / "linden.toml"
    path.write_text(LINDEN, encoding="utf-8")
    return path


def test_the_block_is_what_is_generated():
    """To the last digit that a file holds, which may differ from one machine to the next."""
    shipped, made = (
        np.frombuffer(b[84:], dtype=np.uint8)
        for b in (blocks.SCENARIO.read_bytes(), blocks.linden())
    )
    corners = [
        np.ascontiguousarray(b.reshape(-1, 50)[:, 12:48]).view("<f4") for b in (shipped, made)
    ]
    np.testing.assert_allclose(*corners, atol=1e-5)


def said(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_scenario(path, target_required=True)
    return str(caught.value)


def test_a_missing_file_is_told_with_its_line(linden: Path) -> None:
    (linden.parent / "linden.stl").unlink()
    line = next(i for i, row in enumerate(LINDEN.splitlines(), 1) if "linden.stl" in row)
    told = said(linden)
    assert told.startswith(f"{linden}:{line}:")
    assert 'file "linden.stl" does not exist' in told


def test_a_bad_file_is_told_with_its_line(linden: Path) -> None:
    (linden.parent / "linden.stl").write_bytes(blocks.SCENARIO.read_bytes()[:-50])
    assert 'part "block" file: "linden.stl" claims 4200 triangles, but has room' in said(linden)


def test_a_mesh_without_its_unit_is_told(linden: Path) -> None:
    linden.write_text(LINDEN.replace(', unit = "mm"', ""), encoding="utf-8")
    assert 'part "block" unit: is missing; ' in said(linden)


def test_what_was_mended_is_a_warning(linden: Path) -> None:
    body = trimesh.load_mesh(blocks.SCENARIO, process=True)
    body.invert()
    (linden.parent / "linden.stl").write_bytes(meshes.stl(body))
    (warning,) = read_scenario(linden, target_required=True).warnings
    assert 'part "block" file: "linden.stl" was inside out: its triangles are reversed' in warning


@pytest.mark.parametrize("command", ["check", "solve"])
def test_triangles_and_what_they_miss_are_told(command: str, linden: Path) -> None:
    told = " ".join(runner.invoke(app, [command, str(linden)]).stdout.split())
    assert "block is taken as its 4200 triangles. Where they stand for a smooth surface," in told


@pytest.mark.slow
def test_the_change_of_a_ball_is_that_of_the_smooth_block(linden: Path) -> None:
    """The block in 16 times as many triangles misses a sixteenth: nearly the smooth one."""
    densities = ("cover=1.17", "mantle=0.9", "block=2.2", "heart=2", "girdle=1")

    def measured() -> dict[str, Any]:
        fixed = [f"--density={one}" for one in densities]
        told = runner.invoke(app, ["check", str(linden), "--json", *fixed]).stdout
        return json.loads(told)["measured"][0]

    coarse = measured()
    (linden.parent / "linden.stl").write_bytes(blocks.linden(4))
    fine = measured()
    for key, told in coarse["meshes"]["smooth_minus_told"].items():
        assert told == pytest.approx(fine[key] - coarse[key], rel=0.15)
