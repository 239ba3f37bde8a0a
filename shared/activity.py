"""What the program is doing, reported by long work for anyone who watches."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

_at: list[str] = [""]


def at(what: str, best: float | None = None) -> None:
    """Report what is being done, and the `best` smallest margin so far if there is one."""
    so_far = "" if best is None else f": smallest margin so far {best:.1f} tolerances"
    _at[-1] = what + so_far


@contextmanager
def within() -> Iterator[None]:
    """Append reports made in this context to the last one made outside it."""
    _at.append("")
    try:
        yield
    finally:
        _at.pop()


def now() -> str:
    """Return what is being done, the outermost task first."""
    return ", ".join(filter(None, _at))
