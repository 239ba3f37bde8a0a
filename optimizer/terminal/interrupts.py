"""Ctrl-C and SIGTERM end a run at any moment: one word, and exit code 130.

Both raise KeyboardInterrupt wherever the run is. If it hasn't ended after PATIENCE, because it is
in a long call of C code or blocked on a stream, a watching thread ends it; files are moved into
place whole, so none is left half written. Imports here are light: this module is loaded first.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from contextlib import suppress
from typing import TYPE_CHECKING, Any, Final

from shared import stopping

if TYPE_CHECKING:
    from types import FrameType

INTERRUPTED: Final = 130
PATIENCE: Final = 1.2
"""s for a run to end by itself after a signal."""
LATE: Final = 0.5
"""s by which the watching thread may notice a signal after the run does."""
LAST: Final = 0.2
"""s for the last message, on a stream that may be blocked."""
SIGNALS: Final = (signal.SIGINT, signal.SIGTERM)
IMPORTING: Final = "<frozen importlib._bootstrap>"
SOON: Final = 0.005
"""s until a signal is tried again that comes while the import system is in its own code."""
TIMED: Final = hasattr(signal, "setitimer")

_last_word = threading.Lock()
_said = threading.Event()


def listen(*, as_json: bool) -> None:
    """Make this process end soon after a signal, from now on."""
    for number in SIGNALS:
        if signal.getsignal(number) is not signal.SIG_IGN:  # as nohup sets it
            signal.signal(number, _interrupt)
    if TIMED:
        signal.signal(signal.SIGALRM, _interrupt)
    import socket  # slower than all above, and a signal may come meanwhile

    ours, theirs = socket.socketpair()
    theirs.settimeout(0.0)  # required for signals
    signal.set_wakeup_fd(theirs.detach(), warn_on_full_buffer=False)
    leave = threading.Thread(target=_leave, kwargs={"as_json": as_json}, daemon=True)
    threading.Thread(target=_watch, args=(ours, leave), daemon=True).start()


def told(*, as_json: bool) -> int:
    """Report that the run was interrupted, and return its exit code."""
    with _last_word:
        _say(as_json=as_json)
        _said.set()
    return INTERRUPTED


def ignore() -> None:
    """Ignore signals, since the process is ending."""
    for number in (*SIGNALS, *[signal.SIGALRM] * TIMED):
        signal.signal(number, signal.SIG_IGN)


def _interrupt(_: int, frame: FrameType | None) -> None:
    """Ask the run to stop; later, if an exception would leave the import system locked for ever."""
    sys.unraisablehook = threading.excepthook = sys.excepthook = _unheard
    if TIMED and frame is not None and frame.f_code.co_filename == IMPORTING:
        signal.setitimer(signal.ITIMER_REAL, SOON)
        return
    stopping.ask()


def _unheard(*_: Any) -> None:
    """Hide the errors that a signal causes in threads, destructors and C code from the user.

    Where Cython can't pass an exception on, it prints it by sys.excepthook.
    """


def _say(*, as_json: bool) -> None:
    from optimizer.terminal import progress

    progress.end()
    stream, text = sys.stderr, "interrupted\n"
    if as_json:
        from optimizer.paper.writers.json_ import text as json_text
        from shared.errors import Problem, errors_data

        stream, text = sys.stdout, json_text(errors_data([Problem("interrupted")]))
    with suppress(OSError, ValueError):  # closed, or nobody reads it
        stream.write(text)
        stream.flush()


def _watch(signals: Any, leave: threading.Thread) -> None:
    """End the process if it has neither ended nor heard a signal PATIENCE after it came."""
    while signals.recv(1024):
        came = time.monotonic()
        time.sleep(PATIENCE)
        if not stopping.heard_since(came - LATE):
            leave.start()
            leave.join(LAST)
            os._exit(INTERRUPTED)


def _leave(*, as_json: bool) -> None:
    with _last_word:
        if not _said.is_set():
            _say(as_json=as_json)
