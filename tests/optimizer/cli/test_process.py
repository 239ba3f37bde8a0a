"""What only a process of its own can show: imports, pipes, signals, encodings."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from waiting import tries, until

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


@pytest.mark.parametrize(
    "command", [("check",), ("solve",), ("schedule",), ("compare", "alder.toml"), ("report",)]
)
def test_a_plain_command_imports_no_scipy(command, process) -> None:
    """Importing it would take a third of a solve, for an assignment or an integer program."""
    name, *more = command
    ran = process(name, "alder.toml", *more, PYTHONPROFILEIMPORTTIME="1")
    assert ran.code == 0
    assert "numpy" in imported(ran.err), "the list is there"
    assert imported(ran.err).isdisjoint({"scipy", "cvxpy"})


def imported(listing: str) -> set[str]:
    """The modules in the interpreter's own list of imports, which goes to stderr."""
    return {line.rpartition("|")[2].strip() for line in listing.splitlines()}


@pytest.mark.parametrize("arguments", [["schema"], ["--help"], ["solve", "--help"], []])
def test_a_closed_pipe_ends_quietly(folder, arguments) -> None:
    """The reader goes away before a line is written, as `| head -0` does."""
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(  # noqa: S603 - ours
        [sys.executable, "-m", "optimizer.cli", *arguments],
        stdout=write,
        stderr=subprocess.PIPE,
        check=False,
        cwd=folder,
        env={"SAMESPIN_CACHE": "", "PYTHONPATH": str(ROOT)},
    )
    os.close(write)
    assert (done.returncode, done.stderr) == (0, b"")


def test_who_has_hung_up_on_stderr_changes_no_exit_code(folder) -> None:
    """The margins are smaller than asked for, whether anybody hears of it or not."""
    read, write = os.pipe()
    os.close(read)
    asked = ROOT / "scenarios" / "juniper.toml"
    done = subprocess.run(  # noqa: S603 - our own command
        [sys.executable, "-m", "optimizer.cli", "solve", asked, "--fail-under", "50"],
        stdout=subprocess.DEVNULL,
        stderr=write,
        check=False,
        cwd=folder,
        env={"SAMESPIN_CACHE": "", "PYTHONPATH": str(ROOT)},
    )
    os.close(write)
    assert done.returncode == 5


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("check", "alder.toml"), 3),
        (("check", "alder.toml", "--json"), 3),
        (("check", "--help"), 3),
        (("solve", "alder.toml", "-o", "x.json"), 3),
        (("schedule", "alder.toml", "-o", "x.csv"), 0),
    ],
)
def test_a_closed_output_is_told_beside_it(arguments, code, folder) -> None:
    """As `>&-` leaves it; what is written to a file is written."""
    closing = f"exec {sys.executable} -m optimizer.cli {' '.join(arguments)} >&-"
    done = subprocess.run(  # noqa: S603  our own command
        ["/bin/sh", "-c", closing],
        stderr=subprocess.PIPE,
        check=False,
        cwd=folder,
        env={"SAMESPIN_CACHE": "", "PYTHONPATH": str(ROOT)},
        encoding="utf-8",
    )
    written = list(folder.glob("x.*"))
    told = [] if code == 0 else ["the result can't be written (Bad file descriptor)"]
    assert done.returncode == code
    assert done.stderr.splitlines() == [
        *(f"written: {one.name}" for one in written if not told),
        *told,
    ]
    assert len(written) == ("-o" in arguments)


def test_closed_streams_are_no_fault(folder) -> None:
    closing = f"exec {sys.executable} -m optimizer.cli check none.toml <&- >&- 2>&-"
    done = subprocess.run(  # noqa: S603  our own command
        ["/bin/sh", "-c", closing],
        check=False,
        cwd=folder,
        env={"SAMESPIN_CACHE": "", "PYTHONPATH": str(ROOT)},
    )
    assert done.returncode == 3


WAITS = """
from pathlib import Path
from time import sleep
from shared import untrusted
def content(path, most):
    Path("reading").touch()
    sleep(3600)
untrusted.content = content
from optimizer.cli import main
main()
"""
"""What `-c` runs: a command whose input never comes."""


def test_an_interrupt_has_its_code_and_leaves_no_file(folder) -> None:
    """The signal is sent while the command waits for its input, as from a disk that is far away."""
    ran = subprocess.Popen(  # noqa: S603 - our own command
        [sys.executable, "-c", WAITS, "solve", "alder.toml", "-o", "x.json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=folder,
        env={"SAMESPIN_CACHE": "", "PYTHONPATH": str(ROOT)},
    )
    until((folder / "reading").exists)
    for _ in tries(0.0):  # Python loses a signal that comes while it cleans up
        ran.send_signal(signal.SIGINT)
        try:
            out, err = ran.communicate(timeout=5.0)
            break
        except subprocess.TimeoutExpired:
            continue
    assert (ran.returncode, out, err) == (130, b"", b"interrupted\n")
    assert not list(folder.glob("*x.json*"))
    assert not list(folder.glob("*.part"))


def test_a_screen_without_our_signs_still_gets_the_figures(process) -> None:
    ran = process("check", "alder.toml", PYTHONIOENCODING="ascii")
    assert ran.code == 0
    assert "density, g/cm?" in ran.out
    assert process("check", "alder.toml", "--json", PYTHONIOENCODING="ascii").code == 0
