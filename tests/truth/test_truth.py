"""Some random lines, all that were wrong once; and that what is wrong is seen."""

from __future__ import annotations

import json
import subprocess
import sys
from copy import deepcopy
from functools import cache
from pathlib import Path
from random import Random

import numpy as np
import pytest
from truth import compounds, printed, second, solids
from truth.drawing import line
from truth.line import Line, figures

ROOT = Path(__file__).parents[2]
FOUND = sorted(Path(__file__).parent.joinpath("found").glob("*.toml"))
ENVIRONMENT = {"PYTHONPATH": f"{ROOT}:{ROOT / 'tests'}", "PATH": "/usr/bin:/bin"}
KNOWN, MOVED = 3, 19
"""Lines on the pin axis: one planted, and one that nothing meets."""


@cache
def some() -> list[Line]:
    """Return a few lines."""
    return [line(1, number) for number in range(20)]


def _python(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Run Python on its own: what forks has no threads."""
    return subprocess.run(  # noqa: S603  ours
        [sys.executable, *arguments], capture_output=True, text=True, check=False, env=ENVIRONMENT
    )


def test_answers_to_random_lines_are_true() -> None:
    ran = _python("-m", "truth", "--lines", "6", "--first", "50", "--jobs", "1")
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "lines" in ran.stdout


@pytest.mark.parametrize("path", FOUND, ids=lambda path: path.stem)
def test_what_ended_as_a_fault_once_is_answered(path: Path, tmp_path: Path) -> None:
    for name, content in {**solids.MESHED, "x.toml": path.read_bytes()}.items():
        tmp_path.joinpath(name).write_bytes(content)
    ran = _python("-m", "optimizer.cli", "solve", str(tmp_path / "x.toml"), "--json")
    assert ran.returncode in (0, 4), ran.stdout + ran.stderr
    broken = [
        margin
        for weight in json.loads(ran.stdout)["weights"] if ran.returncode == 0
        for margin in weight["margins"]
        if margin["slack"] < -printed.KEPT and not margin["rule_only"]
    ]  # fmt: skip
    assert not broken


@cache
def _solution() -> tuple[Line, dict]:
    """Return a planted line, and what the command answers."""
    one = line(1, KNOWN)
    ran = _python(
        "-c",
        "import sys, runpy; from truth.drawing import line\n"
        f"from fuzz.trial import Case, tried; one = line(1, {KNOWN})\n"
        "out = tried(Case.of('line', one.files(), ['solve', 'x.toml', '--json']))\n"
        "sys.stdout.write(out.out.decode())",
    )
    return one, json.loads(ran.stdout)


def test_a_true_answer_has_no_faults() -> None:
    one, solution = _solution()
    assert solution["status"] == "feasible"
    assert list(printed.faults(one, solution)) == []


@pytest.mark.parametrize(
    "key", ["mass_g", "rg_low_in", "rg_high_about_centre_in", "differential_in", "top_weight_oz",
    "cg_offset_in"],
)  # fmt: skip
def test_a_figure_that_is_not_the_oracles_is_seen(key: str) -> None:
    one, solution = _solution()
    wrong = deepcopy(solution)
    wrong["weights"][0][key] *= 1 + 1e-4
    assert any(key in fault for fault in printed.faults(one, wrong))


def test_densities_that_miss_the_target_are_seen() -> None:
    one, solution = _solution()
    wrong = deepcopy(solution)
    densities = wrong["weights"][0]["densities_g_cm3"]
    densities["cover"] += 0.002
    faults = list(printed.faults(one, wrong))
    assert any("weight is off" in fault for fault in faults)
    assert any("mass_g" in fault for fault in faults)


def test_what_is_planted_meets_its_line() -> None:
    """By the oracle's own figures, in every weight."""
    planted = [one for one in some() if one.planted is not None]
    assert len(planted) > 5
    for one in planted:
        got = figures(one, one.planted)
        assert np.allclose(got["mass"], list(one.weights.values()), rtol=1e-4)
        for key, (low, high) in one.target.items():
            assert np.all(got[key] > low - 1e-4 * high - 1e-7)
            assert np.all(got[key] < high + 1e-4 * high + 1e-7)


def test_the_second_program_proves_no_planted_line_impossible() -> None:
    planted = [one for one in some() if one.planted is not None and one.on_axis]
    assert len(planted) > 3
    assert [one.name for one in planted if second.impossible(one, exact=False)] == []


def test_the_second_program_finds_what_is_planted_and_proves_what_is_not() -> None:
    assert second.line_up(line(1, KNOWN), 0, 12) is not None
    moved = line(1, MOVED)
    assert second.impossible(moved, exact=False) is not None
    assert second.line_up(moved, 0, 3) is None


@pytest.mark.parametrize("kind", solids.CONVEX)
def test_chords_measure_what_the_quadrature_does(kind: str) -> None:
    """Of one solid, turned, stretched and moved, within the error that is stated."""
    solid = solids.drawn(Random(kind), kind, 2.0)
    solid |= {"at": [0.3, -0.4, 0.2], "rotate": [20, 30, 40], "stretch": [0.9, 1.1, 0.8]}
    J = solids.moments(solid, 1.0)
    assert np.max(np.abs(compounds._chords([solid], []) - J)) < compounds.CHORD_ERROR * J[3, 3]


def test_a_line_is_the_same_again() -> None:
    assert line(3, 5).text() == line(3, 5).text() != line(3, 6).text()


def test_every_kind_of_solid_is_drawn() -> None:
    texts = "".join(one.text() for one in some())
    assert [kind for kind in solids.KINDS if f'kind = "{kind}"' not in texts] == []
