"""Every fault with every command that may meet it; `python -m faults` counts the same."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import pytest
from faults import signals
from faults.commands import Command, Ended, whole
from faults.files import OLD, _half, _one_error
from faults.signals import _wrong
from faults.table import FAULTS

from optimizer.cli import app
from optimizer.terminal.files import write
from shared import drafts

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="asks Linux for these faults")
LONG = ("tolerance", "sharing", "explore", "reconcile", "solve elder")
CASES = [
    pytest.param(name, command, marks=[pytest.mark.slow] * (command.line.startswith(LONG)))
    for name, fault in FAULTS.items()
    if fault.met is not signals.signals
    for command in fault.commands
]


@pytest.mark.turns(40)
@pytest.mark.parametrize(("name", "command"), CASES, ids=str)
def test_a_fault_is_survived(name: str, command: Command) -> None:
    trials = [*FAULTS[name].met(command)]
    assert trials
    assert [one for one in trials if one.wrong] == []


@pytest.mark.slow
@pytest.mark.parametrize("command", FAULTS["Ctrl-C, SIGTERM"].commands, ids=str)
def test_no_signal_is_lost(command: Command) -> None:
    """Where a run has all the time to end by itself, a signal that it loses shows: it goes on."""
    assert [one for one in signals.signals(command, patiently=True) if one.wrong] == []


def test_every_command_meets_a_fault() -> None:
    met = {one.line.split()[0] for fault in FAULTS.values() for one in fault.commands}
    assert met - {"--help"} == {command.__name__ for command in app.COMMANDS}


def test_what_is_half_written_is_seen() -> None:
    """The judges themselves: a part of a file, a draft without a name, an error left unsaid."""
    command = Command("new x.toml", ("x.toml",))
    new = whole(command).files["x.toml"]
    assert _half(command, Ended(0, "", "", {"x.toml": OLD})) is None
    assert _half(command, Ended(0, "", "", {"x.toml": new})) is None
    for content in (b"", new[:-1], new + b"x"):
        assert "x.toml is neither" in (_half(command, Ended(0, "", "", {"x.toml": content})) or "")
    assert "no draft" in (_half(command, Ended(0, "", "", {"x.toml": new, ".x": b""})) or "")
    assert "0 lines" in (_one_error(Ended(3, "", "")) or "")
    assert "left" in (_one_error(Ended(3, "", "x\n", {".samespin-1.part": b""})) or "")


def test_a_signal_that_is_lost_is_seen() -> None:
    solve = Command("solve elder.toml")
    told = {"known": True, "done": False}
    assert "exit 0" in (_wrong(solve, Ended(0, "feasible", ""), told) or "")
    assert "not told" in (_wrong(solve, Ended(130, "", "interrupted\n"), told) or "")
    said = "Interrupted: the mould is the best of 3 starts"
    assert _wrong(solve, Ended(130, said, ""), told) is None


def test_what_a_killed_run_left_is_deleted_a_day_later(tmp_path: Path) -> None:
    path, other = tmp_path / "x.csv", tmp_path / "y.csv"
    young, old, of_other = drafts.draft(path), drafts.draft(path), drafts.draft(other)
    for left in (young, old, of_other):
        left.write_bytes(b"half")
    for left in (old, of_other):
        os.utime(left, (0.0, time.time() - drafts.LEFT - 60.0))
    write({path: b"new"}, force=False)
    assert {*tmp_path.iterdir()} == {path, young, of_other}
