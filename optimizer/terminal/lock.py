"""A file that is written row by row has one writer at a time.

The lock is the operating system's: it ends with the process that holds it, however that ends.
"""

from __future__ import annotations

import os
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import FileIO
from pathlib import Path
from typing import Final

from shared.errors import InputError, Problem

if sys.platform == "win32":
    import msvcrt

    FAR: Final = 1 << 30
    """The byte that is locked: far beyond what others read."""

    def _lock(stream: FileIO) -> None:
        stream.seek(FAR)
        msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _lock(stream: FileIO) -> None:
        fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Keep other runs from writing `path`. Raises InputError if one already does.

    The lock is on a hidden file beside it, which names the holder and is removed at the end; one
    left by a killed run does no harm.
    """
    real = path.resolve()
    beside = real.with_name(f".{real.name}.lock")
    stream = _held(beside, path)
    try:
        yield
    finally:
        if sys.platform == "win32":  # a file that is open can't be removed
            stream.close()
        with suppress(OSError):
            beside.unlink()
        stream.close()


def _held(beside: Path, path: Path) -> FileIO:
    """Return the lock file, open and locked."""
    while True:
        try:
            stream = FileIO(beside, "a+")
        except OSError as error:
            what = f"can't be locked: {beside.name} can't be written"
            raise InputError([Problem(what, error.strerror, file=str(path))]) from error
        try:
            _lock(stream)
        except OSError as error:
            holder = _holder(stream)
            stream.close()
            raise _taken(path, beside, holder, error) from error
        if _stands(beside, stream):
            break
        stream.close()  # the run that held it has just removed it
    with suppress(OSError):  # on a full disk the holder is not named
        stream.truncate(0)
        stream.write(f"process {os.getpid()} on {socket.gethostname()}".encode())
    return stream


def _stands(beside: Path, stream: FileIO) -> bool:
    """Whether the open file is the one that others find."""
    try:
        return os.path.samestat(beside.stat(), os.fstat(stream.fileno()))
    except FileNotFoundError:
        return False


def _holder(stream: FileIO) -> str:
    holder = b""
    with suppress(OSError):
        stream.seek(0)
        holder = stream.read(200)
    return holder.decode("utf-8", "replace").strip() or "an unknown process"


def _taken(path: Path, beside: Path, holder: str, error: OSError) -> InputError:
    """Return the error that another run has the lock, or that there are no locks."""
    if not isinstance(error, BlockingIOError | PermissionError):
        what, instead = "can't be locked", "choose a folder on a disk of this machine"
        return InputError([Problem(what, error.strerror, instead, file=str(path))])
    what = f"is being written by another run: {holder} (lock file {beside})"
    instead = "wait until it is done, or name another file"
    return InputError([Problem(what, instead=instead, file=str(path))])
