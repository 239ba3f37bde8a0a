"""Results of long work in reading, kept in the user's cache folder for the next command.

The name of an entry is a hash of all that a result depends on: the function, its arguments, our
code, the libraries, the machine. So an entry is never wrong, only no longer asked for. It is
written whole or not at all; one that is damaged is made anew, and all may be deleted at any time.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import platform
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import fields, is_dataclass
from functools import cache, wraps
from importlib import metadata
from pathlib import Path
from typing import Any, Final, ParamSpec, TypeVar

from shared.drafts import DRAFT, draft

FOLDER: Final = "SAMESPIN_CACHE"
"""The variable that names another folder; if empty, nothing is kept."""
ROOM: Final = 200_000_000
"""Bytes of all entries: the least recently used ones are deleted beyond that."""
BLOCK: Final = 4096
"""Bytes that even the smallest file takes."""
ENTRY: Final = re.compile(rf"[0-9a-f]{{64}}\.npz|{DRAFT.pattern}")
LIBRARIES: Final = ("numpy", "scipy", "trimesh", "cadquery-ocp-novtk")

P = ParamSpec("P")
T = TypeVar("T")


class _State:
    active = False
    folder: Path | None = None
    fresh = ROOM
    """Bytes written since the folder was last swept; more than its share at first."""


def use(folder: Path | None) -> None:
    """Keep results in `folder` from now on; None: nowhere."""
    _State.folder, _State.fresh = folder, ROOM


@contextmanager
def active() -> Iterator[None]:
    """Keep results in this context, if there is a folder: what a search tries isn't worth it."""
    before, _State.active = _State.active, True
    try:
        yield
    finally:
        _State.active = before


def users_folder() -> Path | None:
    """Return the folder for the user's cache on this system, if there is one."""
    named, home = os.environ.get(FOLDER), Path(os.path.expanduser("~"))  # noqa: PTH111 - never raises
    if named is not None:
        return Path(named) if named else None
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = home / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or home / ".cache")
    return base / "samespin" if base.is_absolute() else None


def remembered(*types: type) -> Callable[[Callable[P, T]], Callable[P, T]]:
    """Return a decorator for functions of values alone, whose results are made of `types`.

    These are frozen dataclasses of numbers, texts, arrays, tuples and each other. Arguments may be
    bytes and models, too. What is raised isn't kept.
    """
    known = {one.__name__: one for one in types}

    def decorated(function: Callable[P, T]) -> Callable[P, T]:
        @wraps(function)
        def kept(*arguments: P.args, **options: P.kwargs) -> T:
            if _State.folder is None or not _State.active:
                return function(*arguments, **options)
            name = _name(function, (arguments, sorted(options.items())))
            path = _State.folder / f"{name}.npz"
            with suppress(Exception):  # missing, cut short, unreadable: made anew
                found: T = _read(path, name, known)
                return found
            result = function(*arguments, **options)
            with suppress(OSError):  # no such folder, or no room: no cache
                _write(path, name, result)
            return result

        return kept

    return decorated


def _name(function: Callable[..., Any], arguments: Any) -> str:
    """Return the name of an entry, in hex."""
    arrays: list[Any] = []
    package = function.__module__.partition(".")[0]
    asked = [_code(package), function.__module__, function.__qualname__, _flat(arguments, arrays)]
    name = hashlib.sha256(json.dumps(asked).encode())
    for array in arrays:
        name.update(f"{array.dtype.str}{array.shape}".encode())
        name.update(array.tobytes())
    return name.hexdigest()


@cache
def _code(package: str) -> str:
    """Return a hash of what runs: our code, since it may change without its version, and others."""
    code = hashlib.sha256(f"{sys.version} {platform.machine()}".encode())
    for library in LIBRARIES:
        with suppress(metadata.PackageNotFoundError):
            code.update(f"{library} {metadata.version(library)}\n".encode())
    for name in sorted({package, "shared"}):
        folder = Path(str(sys.modules[name].__file__)).parent
        for file in sorted(folder.rglob("*.py")):
            code.update(hashlib.sha256(file.read_bytes()).digest())
    return code.hexdigest()


def _flat(value: Any, arrays: list[Any]) -> Any:
    """Return a value as JSON types, its arrays by their number in `arrays`, to which they go."""
    if value is None or isinstance(value, bool | int | float | str):
        return value
    inner = _inner(value)
    if inner is not None:
        return {"type": type(value).__name__, "values": [_flat(item, arrays) for item in inner]}
    if isinstance(value, tuple | list):
        return [_flat(item, arrays) for item in value]
    import numpy as np  # noqa: PLC0415 - not for help and completion

    if not isinstance(value, bytes | np.ndarray):
        raise TypeError(f"{type(value).__name__} can't be remembered")
    arrays.append(np.frombuffer(value, np.uint8) if isinstance(value, bytes) else value)
    return {"array": len(arrays) - 1}


def _inner(value: Any) -> list[Any] | None:
    """Return the fields of a dataclass, a named tuple or a model, else None."""
    if is_dataclass(value):
        return [getattr(value, field.name) for field in fields(value)]
    if hasattr(value, "_fields"):
        return list(value)
    return list(dict(value).values()) if hasattr(value, "model_fields_set") else None


def _made(value: Any, arrays: list[Any], known: dict[str, type]) -> Any:
    """Return the value from its JSON types and arrays; lists are tuples."""
    if isinstance(value, list):
        return tuple(_made(item, arrays, known) for item in value)
    if isinstance(value, dict):
        if "array" in value:
            return arrays[value["array"]]
        return known[value["type"]](*_made(value["values"], arrays, known))
    return value


def _read(path: Path, name: str, known: dict[str, type]) -> Any:
    """Return the result in an entry. Raises anything if it isn't whole."""
    with path.open(
        "rb"
    ) as stream:  # before numpy's import, which a missing entry need not wait for
        import numpy as np  # noqa: PLC0415

        with np.load(stream, allow_pickle=False) as entry:
            own, value, count = json.loads(entry["value"].tobytes())
            arrays = [entry[f"a{k}"] for k in range(count)]
    if own != name:
        raise ValueError("another entry")
    for array in arrays:
        array.setflags(write=False)
    os.utime(path)
    return _made(value, arrays, known)


def _write(path: Path, name: str, result: Any) -> None:
    """Write an entry whole or not at all. Raises OSError."""
    import numpy as np  # noqa: PLC0415

    arrays: list[Any] = []
    value = _flat(result, arrays)
    text = json.dumps([name, value, len(arrays)]).encode()
    content = io.BytesIO()
    np.savez(
        content,
        value=np.frombuffer(text, np.uint8),
        **{f"a{k}": array for k, array in enumerate(arrays)},
    )
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = draft(path)
    try:
        part.write_bytes(content.getbuffer())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    _State.fresh += max(len(content.getbuffer()), BLOCK)
    if _State.fresh > ROOM / 10:
        _State.fresh = 0
        _sweep(path.parent)


def _sweep(folder: Path) -> None:
    """Delete the entries that were not used for longest, beyond the room for all."""
    entries = []
    for file in folder.iterdir():
        with suppress(OSError):  # another run has deleted it
            if ENTRY.fullmatch(file.name):
                told = file.stat()
                entries.append((told.st_mtime, max(told.st_size, BLOCK), file))
    total = 0
    for _, size, file in sorted(entries, reverse=True):
        total += size
        if total > ROOM:
            file.unlink(missing_ok=True)
