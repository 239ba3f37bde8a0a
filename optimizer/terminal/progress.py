"""A sign of life on stderr, if work takes over a second and stderr is a terminal."""

from __future__ import annotations

import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from threading import Event, Lock, Thread
from typing import Final

from shared import activity
from shared.letters import safe

PATIENCE: Final = 1.0
"""s before anything is shown."""
EVERY: Final = 0.5
"""s between updates."""
WIPE: Final = "\r\x1b[K"


class _Line:
    """The line on the screen that says what is being done, and for how long."""

    def __init__(self) -> None:
        self.began, self.over = time.monotonic(), Event()
        self.lock, self.shown = Lock(), False

    def keep_drawn(self) -> None:
        """Redraw it until it is over."""
        wait = PATIENCE
        with suppress(OSError, ValueError):  # no one is watching
            while not self.over.wait(wait):
                self.draw()
                wait = EVERY

    def draw(self) -> None:
        """Draw what is being done now; if too long, its end."""
        end = f" ({time.monotonic() - self.began:.0f} s)"
        what, room = (
            safe(activity.now() or "working"),
            shutil.get_terminal_size().columns - len(end) - 1,
        )
        with self.lock:
            if not self.over.is_set():
                self.shown = True
                short = what if len(what) <= room else f"…{what[len(what) - room + 1 :]}"
                sys.stderr.write(f"{WIPE}{short}{end}")
                sys.stderr.flush()

    @contextmanager
    def wiped(self) -> Iterator[None]:
        """Make room for messages in this context."""
        with self.lock:
            if self.shown:
                self.shown = False
                with suppress(OSError, ValueError):
                    sys.stderr.write(WIPE)
                    sys.stderr.flush()
            yield


_lines: list[_Line] = []


@contextmanager
def progress(*, hidden: bool) -> Iterator[None]:
    """Show what is being done in this context."""
    if hidden or not sys.stderr.isatty():
        yield
        return
    line = _Line()
    _lines.append(line)
    Thread(target=line.keep_drawn, daemon=True).start()
    try:
        yield
    finally:
        end()


@contextmanager
def wiped() -> Iterator[None]:
    """Make room for a message; the work goes on."""
    with ExitStack() as lines:
        for line in _lines:
            lines.enter_context(line.wiped())
        yield


def end() -> None:
    """Make room for the result: the work is done."""
    for line in _lines:
        line.over.set()
    with wiped():
        _lines.clear()
