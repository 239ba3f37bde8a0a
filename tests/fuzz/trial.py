"""One command on files of its own, in a process that may neither last nor grow for ever."""

from __future__ import annotations

import gc
import os
import pkgutil
import resource
import select
import signal
import sys
import tempfile
import traceback
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, Final, NoReturn

import typer

import optimizer
from optimizer.cli import app

CPU: Final = 30
"""s of computing until a command is taken to hang."""
WALL: Final = 240.0
"""s until one that doesn't compute is, on a busy machine."""
THEIRS: Final = (
    "rich.console",
    "cvxpy",
    "ezdxf",
    "lxml.etree",
    "networkx",
    "openpyxl",
    "trimesh",
    "xlsxwriter",
    "typer._adapters",
)
MEMORY: Final = 1_600_000_000
"""Bytes of address space that a command may have."""


@dataclass(frozen=True)
class Case:
    """Files, and a command line on them; `output` is the file it is to write."""

    name: str
    files: Mapping[str, bytes]
    arguments: tuple[str, ...]
    output: str | None = None

    @classmethod
    def of(cls, name: str, files: Mapping[str, bytes], arguments: Sequence[str]) -> Case:
        """Return the case of a command line."""
        output = arguments[arguments.index("-o") + 1] if "-o" in arguments else None
        return cls(name, files, tuple(arguments), output)


@dataclass(frozen=True)
class Outcome:
    """What a command left behind; `killed` is the signal that ended it, 0 for none."""

    code: int
    killed: int
    out: bytes
    err: bytes
    files: Mapping[str, bytes]
    seconds: float
    peak: int


def load() -> None:
    """Import what commands import, so that each trial starts from there."""
    ours = pkgutil.walk_packages(optimizer.__path__, "optimizer.")
    for name in (
        *(module.name for module in ours if not module.name.endswith("__main__")),
        *THEIRS,
    ):
        import_module(name)
    built = typer.main.get_command(app.app)  # half of what a wrong file takes
    typer.main.get_command = lambda _: built
    gc.collect()
    gc.freeze()  # a fork shares what is not touched


def tried(case: Case) -> Outcome:
    """Run a case's command in a fork of this process, and return the outcome."""
    with tempfile.TemporaryDirectory(prefix="samespin-fuzz-") as place:
        inside, streams = Path(place, "in"), [Path(place, "out"), Path(place, "err")]
        inside.mkdir()
        for name, content in case.files.items():
            inside.joinpath(name).write_bytes(content)
        child = os.fork()
        if child == 0:
            _command(case.arguments, inside, streams)
        status, usage = _ended(child)
        return Outcome(
            code=os.WEXITSTATUS(status) if os.WIFEXITED(status) else -1,
            killed=os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0,
            out=streams[0].read_bytes(),
            err=streams[1].read_bytes(),
            files={p.name: p.read_bytes() for p in sorted(inside.iterdir()) if p.is_file()},
            seconds=usage.ru_utime + usage.ru_stime,
            peak=usage.ru_maxrss * 1024,
        )


def _ended(child: int) -> tuple[int, Any]:
    """Wait for a child and return its status and what it used."""
    watch = select.poll()
    descriptor = os.pidfd_open(child)
    watch.register(descriptor, select.POLLIN)
    if not watch.poll(WALL * 1000):
        with suppress(ProcessLookupError):
            os.killpg(child, signal.SIGKILL)
    os.close(descriptor)
    _, status, usage = os.wait4(child, 0)
    with suppress(ProcessLookupError):  # what it started
        os.killpg(child, signal.SIGKILL)
    return status, usage


def _command(arguments: tuple[str, ...], folder: Path, streams: list[Path]) -> NoReturn:
    """Be the command, from its first line to its end."""
    code: Any = 1
    try:
        os.setsid()
        os.chdir(folder)
        for number, path in enumerate(streams, start=1):
            os.dup2(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND), number)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.environ.update(SAMESPIN_CACHE="", HOME=str(folder))
        sys.stdout = open(1, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
        sys.stderr = open(2, "w", encoding="utf-8", errors="backslashreplace", closefd=False)  # noqa: SIM115
        resource.setrlimit(resource.RLIMIT_CPU, (CPU, CPU + 1))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        sys.argv = ["samespin", *arguments]
        from optimizer.cli import main  # noqa: PLC0415

        main()
    except SystemExit as end:
        code = end.code or 0
    except BaseException:  # noqa: BLE001
        traceback.print_exc()
    with suppress(Exception):
        sys.stdout.flush()
        sys.stderr.flush()
    os._exit(code if isinstance(code, int) else 1)
