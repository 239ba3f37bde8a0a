"""Ctrl-C and SIGTERM, just before the n-th call of a function: moments that no clock blurs."""

from __future__ import annotations

import json
import random
import time
from collections.abc import Iterator
from functools import cache
from itertools import cycle
from typing import Final

from faults.commands import ANSWERS, Command, Ended, drafts, ended, folder, run, start, whole
from faults.files import OLD
from faults.trial import Trial
from waiting import PATIENT

MOMENTS: Final = 4
"""Signals to a command."""
KNOWN: Final = "the mould is the best of"
AT: Final = """
import json, os, signal, sys, time
from optimizer.terminal import interrupts
interrupts.LAST = {patient}
if {patiently}:
    interrupts.PATIENCE = {patient}
left = {n}
def known(frame):
    while frame is not None:
        search = frame.f_locals.get("self")
        if type(search).__name__ == "MouldSearch" and search.best is not None:
            return True
        frame = frame.f_back
    return False
def at(frame, event, argument):
    global left
    if event in ("call", "c_call"):
        left -= 1
        if not left:
            sys.setprofile(None)
            from shared import stopping
            told = dict(known=known(frame), done=stopping._Request.held, at=time.monotonic())
            with open(".told", "w") as stream:
                json.dump(told, stream)
            if {patiently}:
                signal.getsignal({sign})({sign}, frame)
            else:
                os.kill(os.getpid(), {sign})
from optimizer.cli import main as really
import optimizer.cli
def begun():
    interrupts_listen = interrupts.listen
    def listen(**options):
        interrupts_listen(**options)
        sys.setprofile(at)
    interrupts.listen = listen
    try:
        really()
    finally:
        sys.setprofile(None)
        if {n} < 0:
            with open(".calls", "w") as stream:
                stream.write(str({n} - left))
optimizer.cli.main = begun
"""
"""Sends its own process a signal, and tells whether a mould was known or all was done by then."""


def _prelude(n: int, sign: int = 0, *, patiently: bool = False) -> str:
    return AT.format(n=n, sign=sign, patient=PATIENT, patiently=patiently)


@cache
def _calls(command: Command) -> int:
    """Return how many calls a command makes once it listens to signals."""
    with folder() as place:
        run(command, place, _prelude(-1))
        return int((place / ".calls").read_text())


def signals(command: Command, *, patiently: bool = False) -> Iterator[Trial]:
    """Signals at moments spread over a run, half of them over its beginning.

    `patiently`, nothing ends the run but itself, and a signal that is lost shows: it ends well. The
    handler is then called as Python calls it, with the frame that the signal comes to.
    """
    calls, random_ = _calls(command), random.Random(command.line)  # noqa: S311 - moments
    signs = cycle([(2, "Ctrl-C"), (15, "SIGTERM")])
    for k in range(MOMENTS):
        at = (k + random_.random()) / MOMENTS
        n, (sign, name) = 1 + int(calls * (at**3 if k % 2 else at)), next(signs)
        with folder() as place:
            for written in command.writes:
                (place / written).write_bytes(OLD)
            ran = start(command, place, _prelude(n, sign, patiently=patiently))
            stopped = ended(ran, place)
            now = time.monotonic()
        told = json.loads(stopped.files.get(".told", b"{}"))
        seconds = now - told["at"] if told else 0.0
        yield Trial(f"{name} at call {n} of {calls}", _wrong(command, stopped, told), seconds)


def _wrong(command: Command, stopped: Ended, told: dict[str, object]) -> str | None:
    said, solves = (stopped.out + stopped.err)[-300:], command.line.startswith("solve")
    if not told:
        return None if stopped.code in ANSWERS else f"exit {stopped.code}: {said!r}"
    if wrong := stopped.untidy or _files(command, stopped, solves=solves):
        return wrong
    if told["done"] and stopped.code in ANSWERS:
        return None
    if stopped.code != 130 or "interrupted" not in said.lower():
        return f"exit {stopped.code}: {said!r}"
    if told["known"] and solves and KNOWN not in stopped.out:
        return f"the best so far is not told: {said!r}"
    return None


def _files(command: Command, stopped: Ended, *, solves: bool) -> str | None:
    """Say which file is neither old nor new; that of the best so far is marked."""
    for name in command.writes:
        found, new = stopped.files.get(name, b""), whole(command).files[name]
        best = solves and stopped.code == 130 and _so_far(found, new)
        grown = command.grows and found and new.startswith(found)
        if found not in (OLD, new) and not best and not grown:
            return f"{name} is neither old nor new"
    left = {*drafts([*stopped.files])} - {".told", ".calls"}
    return f"left: {left}" if left else None


def _so_far(found: bytes, new: bytes) -> bool:
    """Whether a solution is whole, and either of a search that was stopped or of the same balls."""
    try:
        told = json.loads(found)
    except ValueError:
        return False
    return not told["search"]["complete"] or told["weights"] == json.loads(new)["weights"]
