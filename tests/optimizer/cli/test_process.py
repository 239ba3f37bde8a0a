"""What only a process of its own can show: imports, pipes, signals, encodings."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
HEAVY = ("numpy", "scipy", "cvxpy", "highspy", "rich", "geometry", "shared.models")
"""typer parses options with pydantic's help; our own models are what must wait."""
LIGHT = [
    ("",),
    ("--help",),
    ("--version",),
    ("solve", "--help"),
    ("schedule", "--help"),
    ("check", "--help"),
    ("new", "--help"),
]


@pytest.mark.parametrize("arguments", LIGHT)
def test_help_imports_nothing_heavy(arguments, process) -> None:
    """The interpreter itself lists what was imported."""
    ran = process(*filter(None, arguments), PYTHONPROFILEIMPORTTIME="1")
    assert ran.code == 0
    assert "typer" in imported(ran.err), "the list is there"
    assert imported(ran.err).isdisjoint(HEAVY)


def test_completion_imports_nothing_heavy(process) -> None:
    ran = process(
        PYTHONPROFILEIMPORTTIME="1", _SAMESPIN_COMPLETE="complete_bash", COMP_WORDS="samespin s",
        COMP_CWORD="1",
    )  # fmt: skip
    assert ran.out.split() == ["solve", "sharing", "schedule", "schema"]
    assert "typer" in imported(ran.err), "the list is there"
    assert imported(ran.err).isdisjoint(HEAVY)


def imported(listing: str) -> set[str]:
    """The modules in the interpreter's own list of imports, which goes to stderr."""
    return {line.rpartition("|")[2].strip() for line in listing.splitlines()}


def test_a_closed_pipe_ends_quietly(folder) -> None:
    """The reader goes away before a line is written, as `| head -0` does."""
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [sys.executable, "-m", "optimizer.cli", "schema"],
        stdout=write,
        stderr=subprocess.PIPE,
        check=False,
        cwd=folder,
        env={"PYTHONPATH": str(ROOT)},
    )
    os.close(write)
    assert (done.returncode, done.stderr) == (0, b"")


def test_an_interrupt_has_its_code_and_leaves_no_file(folder) -> None:
    """The signal is sent while the command waits for its input, a pipe that nobody writes to."""
    os.mkfifo(folder / "waits.toml")
    ran = subprocess.Popen(
        [sys.executable, "-m", "optimizer.cli", "solve", "waits.toml", "-o", "x.json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=folder,
        env={"PYTHONPATH": str(ROOT)},
    )
    writer = _writer(folder / "waits.toml")
    for _ in range(60):  # Python loses a signal that comes while it cleans up
        ran.send_signal(signal.SIGINT)
        try:
            out, err = ran.communicate(timeout=0.5)
            break
        except subprocess.TimeoutExpired:
            continue
    os.close(writer)
    assert (ran.returncode, out, err) == (130, b"", b"interrupted\n")
    assert not list(folder.glob("*x.json*"))


def _writer(pipe: Path) -> int:
    """Open the pipe for writing, which works only once the command reads it."""
    for _ in range(600):
        try:
            return os.open(pipe, os.O_WRONLY | os.O_NONBLOCK)
        except OSError:
            time.sleep(0.05)
    raise TimeoutError("the command never read its input")


def test_a_screen_without_our_signs_still_gets_the_figures(process) -> None:
    ran = process("check", "alder.toml", PYTHONIOENCODING="ascii")
    assert ran.code == 0
    assert "density, g/cm?" in ran.out
    assert process("check", "alder.toml", "--json", PYTHONIOENCODING="ascii").code == 0
