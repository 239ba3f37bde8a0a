"""Faults of what surrounds a command: its streams, its terminal, its home, its locale."""

from __future__ import annotations

import os
import re
import struct
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from faults.commands import ANSWERS, Command, Ended, folder, run, start, whole
from faults.trial import Trial

NUMBER: Final = re.compile(r"\d+(?:\.\d+)?")
ESCAPE: Final = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
COLOUR: Final = re.compile(r"\x1b\[[0-9;]*(?:3\d|4\d|9\d)[0-9;]*m")
NOBODY: Final = """
import pwd
def getpwuid(number):
    raise KeyError(number)
pwd.getpwuid = getpwuid
"""
"""A user that the system doesn't know, as in a container, has no home but what HOME says."""
LOCALES: Final[Mapping[str, Mapping[str, str]]] = {
    "C": {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
    "unknown": {"LC_ALL": "xx_XX.ISO-8859-1", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
    "ASCII": {"PYTHONIOENCODING": "ascii"},
    "Latin 1": {"PYTHONIOENCODING": "latin-1"},
    "code page 1252": {"PYTHONIOENCODING": "cp1252"},
    "UTF-16": {"PYTHONIOENCODING": "utf-16"},
}


def _same(command: Command, done: Ended) -> str | None:
    """Say in what a run differs from one where nothing is wrong."""
    good = whole(command)
    if done.code != good.code:
        return f"exit {done.code}, not {good.code}: {done.err[-300:]!r}"
    if lost := Counter(NUMBER.findall(good.out)) - Counter(NUMBER.findall(done.out)):
        return f"figures lost: {[*lost][:5]}"
    for name in command.writes:
        if done.files[name] != good.files[name]:
            return f"{name} is another"
    return done.untidy


def no_home(command: Command) -> Iterator[Trial]:
    """No HOME, or one that can't be there, be written or be read; the cache is on."""
    with folder() as place:
        below = place / "a file" / "home"
        below.parent.write_bytes(b"")
        homes = {
            "none": {},
            "below a file": {"HOME": str(below)},
            "a device": {"HOME": "/dev/null"},
        }
        fonts = place / "cut" / ".cache" / "ezdxf" / "font_manager_cache.json"
        fonts.parent.mkdir(parents=True)
        fonts.write_bytes(b'{"cut')
        homes |= {"what another library keeps is cut short": {"HOME": str(place / "cut")}}
        homes |= {"empty": {"HOME": ""}, "relative": {"HOME": "here"}}
        for name, environment in homes.items():
            done = run(command, place, NOBODY, environment)
            yield Trial(name, _same(command, done))


def locale(command: Command) -> Iterator[Trial]:
    """A locale or an encoding that lacks our signs."""
    for name, environment in LOCALES.items():
        encoding = environment.get("PYTHONIOENCODING", "utf-8")
        with folder() as place:
            raw = start(command, place, "", {"SAMESPIN_CACHE": "", **environment})
            out, err = raw.communicate()
            files = {path.name: path.read_bytes() for path in place.iterdir() if path.is_file()}
        if "--json" in command.line:
            encoding = "utf-8"
        texts = out.decode(encoding, "replace"), err.decode(encoding, "replace")
        yield Trial(name, _same(command, Ended(raw.returncode, *texts, files)))


def _screen(command: Command, columns: int, **environment: str) -> Ended:
    """Run a command before a person: both streams are a terminal of so many columns."""
    import fcntl  # noqa: PLC0415
    import pty  # noqa: PLC0415
    import termios  # noqa: PLC0415

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    told = {"SAMESPIN_CACHE": "", "TERM": "xterm-256color", **environment}
    with folder() as place:
        ran = start(command, place, "", told, stdin=theirs, stdout=theirs, stderr=theirs)
        os.close(theirs)
        shown = b"".join(_read(ours))
        ran.wait()
        files = {path.name: path.read_bytes() for path in place.iterdir() if path.is_file()}
    os.close(ours)
    text = shown.decode("utf-8", "replace").replace("\r\n", "\n")
    return Ended(ran.returncode, text, text, files)


def _read(screen: int) -> Iterator[bytes]:
    while True:
        try:
            shown = os.read(screen, 1 << 16)
        except OSError:  # the last writer has gone
            return
        if not shown:
            return
        yield shown


def columns(command: Command) -> Iterator[Trial]:
    """A narrow terminal: prose is wrapped, and no figure is cut."""
    for width in (40, 20, 1):
        done = _screen(command, width)
        plain = Ended(done.code, ESCAPE.sub("", done.out), done.err, done.files)
        yield Trial(f"{width} columns", _same(command, plain))


def no_color(command: Command) -> Iterator[Trial]:
    """Colours are not wanted, or not known."""
    for name, environment in {
        "NO_COLOR": {"NO_COLOR": "1"},
        "TERM=dumb": {"TERM": "dumb"},
    }.items():
        done = _screen(command, 100, **environment)
        coloured = COLOUR.search(done.out)
        plain = Ended(done.code, ESCAPE.sub("", done.out), done.err, done.files)
        yield Trial(name, f"{coloured[0]!r}" if coloured else _same(command, plain))


def no_terminal(command: Command) -> Iterator[Trial]:
    """No terminal at all, nor anything to read from; none of its codes is written."""
    closed = "import os, sys\nos.close(0)\nsys.stdin = None"
    for name, prelude in {"nothing to read": "", "stdin closed": closed}.items():
        with folder() as place:
            done = run(command, place, prelude, {"SAMESPIN_CACHE": "", "FORCE_COLOR": ""})
        raw = ESCAPE.search(done.out + done.err)
        yield Trial(name, f"{raw[0]!r}" if raw else _same(command, done))


def closed_pipe(command: Command) -> Iterator[Trial]:
    """The reader goes away at once, or after some letters."""
    for letters in (0, 1, 4096):
        read, write = os.pipe()
        with folder() as place:
            if not letters:
                os.close(read)
            ran = start(command, place, "", None, stdout=write)
            os.close(write)
            if letters:
                os.read(read, letters)
                os.close(read)
            with ran:
                assert ran.stderr is not None
                err = ran.stderr.read().decode()
            files = {path.name: path.read_bytes() for path in place.iterdir() if path.is_file()}
        good = whole(command)
        quiet = Ended(ran.returncode, good.out, err, files)
        wrong = _same(command, quiet)
        if err != good.err:
            wrong = f"on stderr: {err!r}"
        yield Trial(f"after {letters} letters", wrong)


def full_device(command: Command) -> Iterator[Trial]:
    """A stream is /dev/full: that the result is lost is told; files are written all the same."""
    good = whole(command)
    for streams in (("stdout",), ("stderr",), ("stdout", "stderr")):
        with folder() as place, Path("/dev/full").open("wb") as full:
            given: dict[str, Any] = dict.fromkeys(streams, full)
            done = run(command, place, "", None, **given)
        lost = "stdout" in streams and good.out
        wrong = None
        if done.code != (3 if lost else good.code):
            wrong = f"exit {done.code}: {done.err!r}"
        elif lost and "stderr" not in streams and "can't be written" not in done.err:
            wrong = f"not told: {done.err!r}"
        for name in command.writes:
            if done.files.get(name) != good.files[name]:
                wrong = f"{name} is another"
        if good.code in ANSWERS or "stdout" not in streams:
            wrong = wrong or done.untidy
        yield Trial(" and ".join(streams), wrong)
