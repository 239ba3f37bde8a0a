"""Faults of the disk, and kills: a file is there as it was or as it should be, whole."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import Final

from faults.commands import ANSWERS, Command, Ended, drafts, ended, folder, run, start, whole
from faults.trial import Trial

OLD: Final = b"old\n"
KILLED: Final = -9
BY_SIZE: Final = -25
"""SIGXFSZ: a file grew beyond what is allowed."""

KILL: Final = """
import os, signal, sys
def at(event, arguments):
    global left
    if event == "open" and not arguments[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
        return
    if event == "open" and str(arguments[0]).startswith("/dev/"):
        return
    if event in ("open", "os.rename", "os.link", "os.remove", "os.mkdir", "os.truncate"):
        left -= 1
        if not left:
            os.kill(os.getpid(), signal.SIGKILL)
sys.addaudithook(at)
"""
"""Ends its process just before its n-th change of a file or a folder."""

LIMIT: Final = """
import resource, signal
resource.setrlimit(resource.RLIMIT_FSIZE, ({0}, {0}))
signal.signal(signal.SIGXFSZ, signal.{1})
"""
"""Lets no file grow beyond so many bytes: a part of the write is done, then comes the fault."""

BARRED: Final = """
import ctypes
class Header(ctypes.Structure):
    _fields_ = [("version", ctypes.c_uint32), ("process", ctypes.c_int)]
class Kept(ctypes.Structure):
    _fields_ = [(name, ctypes.c_uint32) for name in ("effective", "permitted", "inheritable")]
if ctypes.CDLL(None).capset(ctypes.byref(Header(0x20080522, 0)), (Kept * 2)()):
    raise SystemExit("root keeps its privileges")
"""
"""Makes permissions hold for root, too."""


def kill_between(command: Command) -> Iterator[Trial]:
    """Kill -9 just before each change of a file, until none is left."""
    for n in count(1):
        with folder() as place:
            _make_old(command, place)
            killed = run(command, place, f"left = {n}\n{KILL}")
            if killed.code != KILLED:
                wrong = None if n > 1 else "writes nothing"
                yield Trial("no change left", wrong or _differs(command, killed))
                return
            wrong = _half(command, killed) or _again(command, place)
        yield Trial(f"before change {n}", wrong)


def kill_within(command: Command) -> Iterator[Trial]:
    """Kill a command within a write, after so many bytes of a file."""
    yield from _at_sizes(command, "SIG_DFL", BY_SIZE)


def disk_full(command: Command) -> Iterator[Trial]:
    """Let no more than so many bytes of a file be written."""
    yield from _at_sizes(command, "SIG_IGN", 3)


def _at_sizes(command: Command, action: str, code: int) -> Iterator[Trial]:
    largest = max(len(whole(command).files[name]) for name in command.writes)
    for size in dict.fromkeys((0, 1, largest // 2, largest - 1)):
        with folder() as place:
            _make_old(command, place)
            stopped = run(command, place, LIMIT.format(size, action))
            wrong = _half(command, stopped)
            if stopped.code != code:
                wrong = f"exit {stopped.code}, not {code}: {stopped.err!r}"
            if code == 3:
                wrong = wrong or _one_error(stopped)
            yield Trial(f"{size} bytes", wrong or _again(command, place))


def _make_old(command: Command, place: Path) -> None:
    for name in command.writes:
        (place / name).write_bytes(OLD)


def _one_error(stopped: Ended) -> str | None:
    """Say what is wrong with an error that is to be one line, and to leave nothing."""
    if (lines := stopped.err.count("\n")) != 1:
        return f"{lines} lines of errors: {stopped.err!r}"
    if left := drafts([*stopped.files]):
        return f"left: {left}"
    return stopped.untidy


def _half(command: Command, stopped: Ended) -> str | None:
    """Say which file is neither old nor new; drafts may be left, all told as such."""
    for name in command.writes:
        found, new = stopped.files.get(name), whole(command).files[name]
        begun = command.grows and found is not None and found and new.startswith(found)
        if found not in (OLD, new) and not begun:
            return f"{name} is neither old nor new: {found!r:.80}"
    for name in drafts([*stopped.files]):
        if not (name.startswith(".samespin-") and name.endswith(".part")) and not name.endswith(
            ".lock"
        ):
            return f"{name} is no draft by its name"
    return None


def _differs(command: Command, done: Ended) -> str | None:
    """Say how a run that was left alone differs from what it should be."""
    if done.code not in ANSWERS:
        return f"exit {done.code}: {done.err!r}"
    for name in command.writes:
        if done.files.get(name) != whole(command).files[name]:
            return f"{name} is another"
    return done.untidy


def _again(command: Command, place: Path) -> str | None:
    """Say what is wrong if the same command is typed again after a fault."""
    wrong = _differs(command, run(command, place))
    return wrong and f"typed again: {wrong}"


def read_only_folder(command: Command) -> Iterator[Trial]:
    """Write into a folder that may not be written, old files or not."""
    for old in (False, True):
        with folder() as place:
            if old:
                _make_old(command, place)
            place.chmod(0o555)
            stopped = run(command, place, BARRED)
            place.chmod(0o755)
            wrong = _one_error(stopped)
            if stopped.code != 3:
                wrong = f"exit {stopped.code}: {stopped.err!r}"
            for name in command.writes:
                if stopped.files.get(name) != (OLD if old else None):
                    wrong = f"{name} has changed"
            yield Trial("old files" if old else "new files", wrong)


def two_runs(command: Command) -> Iterator[Trial]:
    """Two runs at once write one file: it is whole, and both end well or one is refused."""
    other = replace(command, line=command.line.replace("juniper.toml", "juniper-b.toml"))
    with folder() as place:
        pair = [start(one, place) for one in (command, other)]
        ends = [ended(ran, place) for ran in pair]
    wrong = next(filter(None, (one.untidy for one in ends)), None)
    codes = {one.code for one in ends}
    if not codes <= {*ANSWERS, 3} or codes == {3}:
        wrong = f"exits {codes}: {ends[0].err!r} {ends[1].err!r}"
    wholes = [whole(one).files for one in (command, other)]
    for name in command.writes:
        if ends[1].files[name] not in [one[name] for one in wholes]:
            wrong = f"{name} is neither's"
    with suppress(IndexError):
        wrong = f"left: {drafts([*ends[1].files])[0]}"
    yield Trial("together", wrong)
