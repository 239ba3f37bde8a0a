"""A sign of life on stderr, where work lasts over a second and a person watches."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

PATIENCE = 1.0
"""s before anything is shown."""


@contextmanager
def progress(*, hidden: bool) -> Iterator[Callable[[str, float], None]]:
    """Give a function that hears the weights at work and the best smallest margin so far."""
    watched = not hidden and sys.stderr.isatty()
    began, shown = time.monotonic(), False

    def told(weights: str, level: float) -> None:
        nonlocal shown
        seconds = time.monotonic() - began
        if watched and seconds > PATIENCE:
            shown = True
            best = f"smallest margin so far {level:.1f} tolerances"
            sys.stderr.write(f"\r\x1b[Ksolving {weights}: {best} ({seconds:.0f} s)")
            sys.stderr.flush()

    try:
        yield told
    finally:
        if shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
