"""The commands that faults meet, each in a folder of its own, in a process of its own."""

from __future__ import annotations

import atexit
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Final

from waiting import PATIENT

ROOT: Final = Path(__file__).parents[2]
FILES: Final = (
    "juniper.toml",
    "juniper-b.toml",
    "two-pours.toml",
    "elder.toml",
    "juniper-first-balls.csv",
)
BARE: Final = {"PYTHONPATH": str(ROOT), "PATH": os.environ["PATH"], "OPENBLAS_NUM_THREADS": "1"}
"""A child's environment, in which nothing is remembered."""
MAIN: Final = "\nfrom optimizer.cli import main\nmain()\n"
ANSWERS: Final = (0, 4, 5, 6)


@dataclass(frozen=True)
class Command:
    """A command line; `writes` are its files, which `grows` tells may end after any whole line."""

    line: str
    writes: tuple[str, ...] = ()
    grows: bool = False

    @property
    def arguments(self) -> list[str]:
        """The words of the line, with leave to overwrite."""
        return [*self.line.split(), *["--force"] * bool(self.writes)]


def _each(command: str, *suffixes: str) -> Iterator[Command]:
    for suffix in suffixes:
        yield Command(f"{command} -o x{suffix}", (f"x{suffix}",))


PRINTING: Final = [
    Command("check juniper.toml"),
    Command("solve juniper.toml"),
    Command("solve juniper.toml --json"),
    Command("schedule j.json"),
    Command("window alder.toml"),
    Command("sharing alder.toml"),
    Command("tolerance j.json"),
    Command("parts j.json"),
    Command("reconcile j.json juniper-first-balls.csv"),
    Command("compare juniper.toml juniper-b.toml"),
    Command("proof p.json"),
    Command("schema"),
    Command("solve none.toml"),
    Command("--help"),
]
EXPLORE: Final = Command("explore elder.toml --samples 3 -o x.csv --jobs 1", ("x.csv",), grows=True)
WRITING: Final = [
    *_each("solve juniper.toml", ".json", ".csv", ".html", ".xlsx", ".dxf"),
    *_each("schedule j.json", ".json", ".csv", ".html", ".xlsx"),
    *_each("window alder.toml --picture y.svg", ".csv"),
    *_each("sharing alder.toml", ".json", ".html"),
    *_each("tolerance j.json", ".json"),
    *_each("parts j.json", ".html"),
    *_each("reconcile j.json juniper-first-balls.csv", ".html"),
    *_each("compare juniper.toml juniper-b.toml", ".html"),
    *_each("report j.json", ".html"),
    *_each("grow two-pours.toml --fewer 1 --jobs 1", ".json"),
    Command("solve two-pours.toml -o x.json --proof y.json", ("x.json", "y.json")),
    Command("new x.toml", ("x.toml", "samespin.schema.json")),
    EXPLORE,
    Command("explore elder.toml --samples 2 -o x.parquet --jobs 1", ("x.parquet",)),
]
SEARCHING: Final = [
    Command("solve elder.toml -o x.json --jobs 1", ("x.json",)),
    Command("solve alder.toml --worth"),
    Command("solve two-pours.toml"),
    Command("proof p.json"),
    Command("schedule elder.toml -o x.csv", ("x.csv",)),
    Command("report elder.toml -o x.html", ("x.html",)),
    Command("sharing elder.toml"),
    Command("sharing alder.toml"),
    Command("window alder.toml"),
    Command("tolerance j.json"),
    Command("reconcile j.json juniper-first-balls.csv"),
    Command("compare elder.toml alder.toml"),
    EXPLORE,
]


@dataclass(frozen=True)
class Ended:
    """How a command ended, and the files in its folder; `seconds` since `began`, if that is set."""

    code: int
    out: str
    err: str
    files: Mapping[str, bytes] = field(default_factory=dict)
    seconds: float = 0.0

    @property
    def untidy(self) -> str | None:
        """What no end of a command may show."""
        for word in ("Traceback", "a fault of samespin", "Warning:", "Exception ignored"):
            if word in self.err:
                return f"{word} on stderr: {self.err[-300:]!r}"
        return None


@cache
def _folder() -> Path:
    """A folder with the files that commands read, made once for a process."""
    kept = Path(tempfile.mkdtemp(prefix="samespin-faults-"))
    atexit.register(shutil.rmtree, kept)
    for name in FILES:
        shutil.copy(ROOT / "scenarios" / name, kept)
    run(Command("new alder.toml"), kept)
    (kept / "samespin.schema.json").unlink()
    run(Command("solve juniper.toml -o j.json"), kept)
    run(Command("solve two-pours.toml --proof p.json"), kept)
    return kept


@contextmanager
def folder() -> Iterator[Path]:
    """Give a folder with what commands read."""
    with tempfile.TemporaryDirectory(prefix="samespin-fault-") as place:
        shutil.copytree(_folder(), place, dirs_exist_ok=True)
        yield Path(place)


@cache
def whole(command: Command) -> Ended:
    """Return how a command ends where nothing is wrong."""
    with folder() as place:
        return run(command, place)


def start(
    command: Command,
    place: Path,
    prelude: str = "",
    environment: Mapping[str, str] | None = None,
    **streams: Any,
) -> subprocess.Popen[bytes]:
    """Start a command after what `prelude` does in its process."""
    return subprocess.Popen(  # noqa: S603 - our own command
        [sys.executable, "-c", prelude + MAIN, *command.arguments],
        cwd=place,
        env=BARE | {"SAMESPIN_CACHE": ""} if environment is None else {**BARE, **environment},
        **{
            "stdin": subprocess.DEVNULL,
            "stdout": subprocess.PIPE,
            "stderr": subprocess.PIPE,
            "start_new_session": True,
            **streams,
        },
    )


def run(
    command: Command,
    place: Path,
    prelude: str = "",
    environment: Mapping[str, str] | None = None,
    **streams: Any,
) -> Ended:
    """Return how a command ends."""
    return ended(start(command, place, prelude, environment, **streams), place)


def ended(ran: subprocess.Popen[bytes], place: Path) -> Ended:
    """Wait for a command, and return how it ended."""
    began = time.monotonic()
    out, err = ran.communicate(timeout=PATIENT)
    return Ended(
        ran.returncode,
        (out or b"").decode("utf-8", "replace"),
        (err or b"").decode("utf-8", "replace"),
        {path.name: path.read_bytes() for path in place.iterdir() if path.is_file()},
        time.monotonic() - began,
    )


def drafts(files: Sequence[str]) -> list[str]:
    """Return the names of what is neither read nor asked for."""
    return sorted(name for name in files if name.startswith("."))
