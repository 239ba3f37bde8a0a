"""Whether this run has been asked to stop: by a signal, by its parent process, or by the clock.

A KeyboardInterrupt raised while C code calls back into Python can be lost. So the request is also
kept here until it is `heard`, and long work calls `check` repeatedly.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager


class RunInterruptedError(KeyboardInterrupt):
    """Raised instead of a plain KeyboardInterrupt.

    Once one of those has passed through exec, Python ends the process by SIGINT, whatever its exit
    code (run_eval_code_obj in CPython's pythonrun.c).
    """


class _Request:
    """The state of the request: plain values, since a signal may come while they are set."""

    asked = held = False
    heard = -float("inf")
    deadline = float("inf")
    elsewhere: Callable[[], bool] | None = None


def ask() -> None:
    """Ask this run to stop: raises KeyboardInterrupt, unless that is `held`."""
    _Request.asked = True
    if not _Request.held:
        raise RunInterruptedError


def asked() -> bool:
    """Whether this run has been asked to stop, and that has not been heard yet."""
    elsewhere = _Request.elsewhere is not None and _Request.elsewhere()
    return _Request.asked or elsewhere or time_is_up()


def check() -> None:
    """Raise KeyboardInterrupt if this run has been asked to stop."""
    if asked():
        raise RunInterruptedError


def heard() -> None:
    """Mark the request as heard: what follows may report results, until it is asked again."""
    _Request.asked, _Request.heard = False, time.monotonic()
    _Request.deadline = float("inf")


def heard_since(moment: float) -> bool:
    """Whether a request was heard after `moment`, on the monotonic clock."""
    return _Request.heard >= moment


@contextmanager
def limited(seconds: float) -> Iterator[None]:
    """Ask this run to stop if what it does in this context takes longer than so many seconds."""
    _Request.deadline = time.monotonic() + seconds
    try:
        yield
    finally:
        _Request.deadline = float("inf")


def time_is_up() -> bool:
    """Whether the time that was allowed is over."""
    return time.monotonic() >= _Request.deadline


def left() -> float | None:
    """Return the seconds left of the time that was allowed, None if there is no limit."""
    left = _Request.deadline - time.monotonic()
    return None if left == float("inf") else max(left, 0.0)


@contextmanager
def held() -> Iterator[None]:
    """Delay interrupts in this context: KeyboardInterrupt is raised at its end."""
    _Request.held = True
    try:
        yield
    finally:
        _Request.held = False
    check()


def finish() -> None:
    """Ignore interrupts from here on; raises KeyboardInterrupt if one has come already."""
    _Request.held = True
    check()


def follow(elsewhere: Callable[[], bool]) -> None:
    """Stop also when another process asks for it, which `elsewhere` tells."""
    _Request.elsewhere = elsewhere
