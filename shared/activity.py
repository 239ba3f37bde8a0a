"""What the program is doing, reported by long work for anyone who watches."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager

LONG = 120.0
"""s from which on the time that is left is told in minutes."""

_at: list[object] = [""]


def at(what: object, best: float | None = None) -> None:
    """Report what is being done, and the `best` smallest margin so far if there is one.

    `what` is turned into words whenever they are shown.
    """
    so_far = "" if best is None else f": smallest margin so far {best:.1f} tolerances"
    _at[-1] = f"{what}{so_far}" if so_far else what


class Series:
    """Steps of about equal length, at most so many; some may be `done` before it begins.

    `best` is the largest smallest margin so far, in tolerances.
    """

    def __init__(self, what: str, most: int, done: int = 0) -> None:
        self.what, self.most, self.done = what, most, done
        self.best: float | None = None
        self._before, self._began = done, time.monotonic()

    def step(self, best: float | None = None) -> None:
        """Report that a step is done, and what is the best since."""
        self.done, self.best = self.done + 1, best
        at(self)

    @property
    def left(self) -> float:
        """The seconds that the other steps take at the pace so far; 0 before there is one."""
        done = self.done - self._before
        passed = time.monotonic() - self._began
        return passed / done * max(self.most - self.done, 0) if done else 0.0

    def __str__(self) -> str:
        best = "" if self.best is None else f": margin {self.best:.1f} tolerances"
        left = self.left
        time = f"{left:.0f} s" if left < LONG else f"{left / 60.0:.0f} min"
        rest = f", at most about {time} left" if left >= 1.0 else ""
        return f"{self.what} {self.done} of {self.most}{best}{rest}"


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
    return ", ".join(filter(None, map(str, tuple(_at))))
