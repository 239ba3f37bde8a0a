"""What several tests of a run need and none is about, computed once: a line-up, a curve.

A test that is about the computing itself, how long, how often or how it ends, computes afresh.
"""

from __future__ import annotations

import json
import os
import pickle
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import cache, singledispatch, wraps
from hashlib import sha256
from importlib.metadata import distributions
from inspect import signature
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import cloudpickle

try:
    from fcntl import LOCK_EX, flock
except ImportError:  # two processes may compute the same, and one replaces what the other stored
    LOCK_EX, flock = 0, None

FOLDER = "SAMESPIN_STORE"
"""The variable that names the folder; a run makes one for its own processes where it names none."""
ROOT = Path(__file__).parents[1]
KNOWN = ("shared", "geometry", "optimizer", "scenarios", "tests")

P = ParamSpec("P")
T = TypeVar("T")


def stored(function: Callable[P, T]) -> Callable[P, T]:
    """Return the function, each of whose values is computed by one process of a run.

    Whoever asks has a copy of its own. What is raised isn't stored. The key is the function with
    its arguments, and the code: several runs may share a folder.
    """
    asking = signature(function)

    @wraps(function)
    def kept(*arguments: P.args, **options: P.kwargs) -> T:
        given = asking.bind(*arguments, **options)
        given.apply_defaults()
        asked = [code(), function.__module__, function.__qualname__, given.arguments]
        key = sha256(json.dumps(asked, default=told, sort_keys=True).encode()).hexdigest()
        path = Path(os.environ.get(FOLDER) or _own().name) / key
        with _alone(path.with_suffix(".lock")):
            if not path.exists():
                part = path.with_suffix(f".{os.getpid()}")
                part.write_bytes(cloudpickle.dumps(function(*arguments, **options)))
                part.replace(path)
        return pickle.loads(path.read_bytes())  # noqa: S301 - our own

    return kept


@singledispatch
def told(argument: object) -> Any:
    """Return what tells an argument from others, as JSON, whose own parts are told in turn."""
    raise TypeError(f"{argument!r} has no key")


told.register(bytes, bytes.hex)
told.register(Mapping, dict)


@cache
def code() -> str:
    """Return a hash of all that a value hangs on: our files, Python and the packages."""
    told = sha256(sys.version.encode())
    for name, version in sorted((one.name, one.version) for one in distributions()):
        told.update(f"{name} {version}\n".encode())
    files = (file for folder in KNOWN for file in (ROOT / folder).rglob("*") if file.is_file())
    for file in sorted(one for one in files if "__pycache__" not in one.parts):
        content = file.read_bytes()
        told.update(f"{file.relative_to(ROOT)} {len(content)}\n".encode() + content)
    return told.hexdigest()


@cache
def _own() -> tempfile.TemporaryDirectory[str]:
    """Return a folder for a process that no run has given one; it goes with the process."""
    return tempfile.TemporaryDirectory(prefix="samespin-store-")


@contextmanager
def _alone(path: Path) -> Iterator[None]:
    """Wait until no other process is in here with the same path."""
    with path.open("w") as stream:
        if flock is not None:
            flock(stream, LOCK_EX)
        yield
