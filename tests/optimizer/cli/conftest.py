"""Commands run as a person runs them: in a folder of their own, streams apart."""

from __future__ import annotations

import pkgutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

import answers  # noqa: F401 - it knows how scenarios are told apart
import pytest
from optimizer_texts import cover, head
from store import stored

import optimizer
from optimizer.cli.app import run
from optimizer.cli.new import text

ROOT = Path(__file__).parents[3]

BALL = cover(8.58)
BALL += """\
[[parts]]
name = "block"
inside = "cover"
shape = { kind = "spheroid", diameter = 4.0, height = 5.0 }
material = "any"
[limits]
wall = { min = 0.2, tolerance = 0.02 }
"""
MEASURED = head("Birch", {"15": 15.1}) + BALL
"""No target: a ball to measure, or a scenario that solve must refuse."""
IMPOSSIBLE = head("Birch", {"15": 15.1}, (2.55, 0.042)) + BALL
"""Two densities for three targets, which this block can't meet."""


@dataclass(frozen=True)
class Ran:
    """What a command left behind."""

    code: int
    out: str
    err: str


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with the files of these tests."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "alder.toml").write_text(text("alder"), encoding="utf-8")
    (tmp_path / "birch.toml").write_text(MEASURED)
    (tmp_path / "cedar.toml").write_text(IMPOSSIBLE)
    (tmp_path / "wrong.toml").write_text(MEASURED.replace("diameter = 8.58", "diametre = 8.58"))
    return tmp_path


ANSWERS = (
    "optimizer.lineup.pipeline.solve_lineup",
    "optimizer.questions.explore.candidate.cast",
    "optimizer.questions.why_not.diagnosis.explained",
    "optimizer.questions.sharing.mould_sharing.mould_frontier",
    "optimizer.questions.sharing.sharing.frontier",
    "optimizer.questions.trade.trade.trade",
    "optimizer.questions.window.window.window",
    "optimizer.questions.worth.worth.worths",
)
"""What commands ask, each where they import it from when they run."""


@pytest.fixture
def remembered(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let commands answer from the store: for tests of what they print and write."""
    for package in pkgutil.walk_packages(optimizer.__path__, "optimizer."):
        if not package.name.endswith("__main__"):  # nobody else may import what is put there
            import_module(package.name)
    for name in ANSWERS:
        module, _, function = name.rpartition(".")
        monkeypatch.setattr(name, stored(getattr(import_module(module), function)))


@pytest.fixture
def samespin(folder: Path, capfd: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    """A function that runs a command line here, quickly; file descriptors are watched."""

    def call(*arguments: str) -> Ran:
        capfd.readouterr()
        code = run(arguments)
        streams = capfd.readouterr()
        return Ran(code, streams.out, streams.err)

    return call


@pytest.fixture
def process(folder: Path) -> Callable[..., Ran]:
    """A function that runs a command line in a process of its own."""

    def call(*arguments: str, **environment: str) -> Ran:
        done = subprocess.run(  # noqa: S603  our own command
            [sys.executable, "-m", "optimizer.cli", *arguments],
            capture_output=True,
            check=False,
            cwd=folder,
            encoding="utf-8",
            env={"SAMESPIN_CACHE": "", "PYTHONPATH": str(ROOT), "PATH": "/usr/bin:/bin"}
            | environment,
        )
        return Ran(done.returncode, done.stdout, done.stderr)

    return call
