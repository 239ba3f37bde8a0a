"""What the program is at, for whoever watches: long work says so, and need not know who does."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

_at: list[str] = [""]


def at(what: str, best: float | None = None) -> None:
    """Say what is being done, and the `best` smallest margin so far where that is sought."""
    so_far = "" if best is None else f": smallest margin so far {best:.1f} tolerances"
    _at[-1] = what + so_far


@contextmanager
def within() -> Iterator[None]:
    """Let what is said in here stand behind what has been said, until this is left."""
    _at.append("")
    try:
        yield
    finally:
        _at.pop()


def now() -> str:
    """Return what is being done, the widest first."""
    return ", ".join(filter(None, _at))
