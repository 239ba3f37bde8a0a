"""A sign of life on stderr, where work lasts over a second and a person watches."""

from __future__ import annotations

import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol


class Told(Protocol):
    """Hears the weights at work, and the best smallest margin so far where that is sought."""

    def __call__(self, weights: str, level: float | None = None, /) -> None:
        """Show them, if it is time."""


PATIENCE = 1.0
"""s before anything is shown."""


@contextmanager
def progress(*, hidden: bool) -> Iterator[Told]:
    """Give a function that hears the weights at work and the best smallest margin, if any."""
    watched = not hidden and sys.stderr.isatty()
    began, shown = time.monotonic(), False

    def told(weights: str, level: float | None = None) -> None:
        nonlocal shown
        seconds = time.monotonic() - began
        if watched and seconds > PATIENCE:
            shown = True
            best = "" if level is None else f": smallest margin so far {level:.1f} tolerances"
            end = f"{best} ({seconds:.0f} s)"
            room = shutil.get_terminal_size().columns - len(f"solving {end}") - 1
            what = weights if len(weights) <= room else f"…{weights[len(weights) - room + 1 :]}"
            sys.stderr.write(f"\r\x1b[Ksolving {what}{end}")
            sys.stderr.flush()

    try:
        yield told
    finally:
        if shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
