"""How long tests wait for what happens at once on a quiet machine: none fails on a busy one."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import TypeVar

T = TypeVar("T")
PATIENT = 120.0
"""s; what is waited for ends a wait."""

COMMAND = """
from optimizer.terminal import interrupts
from optimizer.cli import main
{} = {}
main()
"""
LAST_WORD = COMMAND.format("interrupts.LAST", PATIENT)
"""What `-c` runs: a command that has the time for its last word."""
PATIENTLY = COMMAND.format("interrupts.LAST = interrupts.PATIENCE", PATIENT)
"""And to end by itself."""


def until(happened: Callable[[], T], pause: float = 0.01) -> T:
    """Return what a function returns as soon as that is true. Raises TimeoutError."""
    for _ in tries(pause):
        if found := happened():
            return found
    raise TimeoutError(f"{happened} is never true")


def tries(pause: float) -> Iterator[None]:
    """Yield again and again, with a pause between, for as long as a test waits."""
    end = time.monotonic() + PATIENT
    while time.monotonic() < end:
        yield
        time.sleep(pause)
