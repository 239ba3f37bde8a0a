"""Whether this run has been asked to stop, by a signal or by the process that handed it its work.

A KeyboardInterrupt that is raised while C code calls Python back can be lost on its way. So the
wish also stands here until somebody has `heard` it, and long work calls `check` again and again.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager


class RunInterruptedError(KeyboardInterrupt):
    """What is raised.

    Once a plain KeyboardInterrupt has passed through exec, Python ends the process by SIGINT,
    whatever its exit code (run_eval_code_obj in CPython's pythonrun.c).
    """


class _Wish:
    """What stands of it: plain values, since a signal may come while they are set."""

    asked = held = False
    heard = -float("inf")
    elsewhere: Callable[[], bool] | None = None


def ask() -> None:
    """Ask this run to stop: raises KeyboardInterrupt, unless that is `held`."""
    _Wish.asked = True
    if not _Wish.held:
        raise RunInterruptedError


def asked() -> bool:
    """Whether this run is to stop, and nobody has heard of it yet."""
    return _Wish.asked or (_Wish.elsewhere is not None and _Wish.elsewhere())


def check() -> None:
    """Raise KeyboardInterrupt where this run is to stop."""
    if asked():
        raise RunInterruptedError


def heard() -> None:
    """Take the wish as heard. What follows may tell what there is, until somebody asks again."""
    _Wish.asked, _Wish.heard = False, time.monotonic()


def heard_since(moment: float) -> bool:
    """Whether a wish was heard after `moment`, on the monotonic clock."""
    return _Wish.heard >= moment


@contextmanager
def held() -> Iterator[None]:
    """Let nothing interrupt what is done here, and raise KeyboardInterrupt afterwards."""
    _Wish.held = True
    try:
        yield
    finally:
        _Wish.held = False
    check()


def finish() -> None:
    """Let nothing interrupt what is left; raises KeyboardInterrupt where the run is to stop."""
    _Wish.held = True
    check()


def follow(elsewhere: Callable[[], bool]) -> None:
    """Stop, too, when another process says so: `elsewhere` asks it."""
    _Wish.elsewhere = elsewhere
