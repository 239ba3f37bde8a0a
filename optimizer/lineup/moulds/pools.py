"""Where independent tasks run: in this process, in others beside it, or on a cluster."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from contextlib import AbstractContextManager, ExitStack, contextmanager
from functools import partial
from multiprocessing import active_children, get_context, parent_process
from multiprocessing.process import BaseProcess
from threading import Thread
from typing import Any, TypeVar

from optimizer.lineup.moulds.cluster import cluster
from shared import stopping
from shared.activity import Series
from shared.errors import InputError, Problem

T = TypeVar("T")
R = TypeVar("R")

WORTH = 2.0
"""s of work that each further process should have, at least: to start one takes about 1."""
FED = 2
"""Tasks that a process beside this one has at a time, so that it needn't wait for this one."""
AHEAD = 256
"""No task begins so far after the first of those that still run."""
GRACE = 0.3
"""s: how long workers have to end when their work is cancelled."""


class Workers:
    """What runs tasks: this process and helpers beside it, or the workers of a cluster.

    With `jobs` None helpers are started once there is work enough, as many as cores are idle.
    """

    def __init__(self, stack: ExitStack, jobs: int | None, scheduler: str | None) -> None:
        self._stack, self._jobs, self._here = stack, jobs, scheduler is None
        self._executor: Executor | None = None
        self._up: list[Future[None]] = []
        if scheduler is not None:
            self._executor = stack.enter_context(cluster(scheduler))

    def _start_helpers(self, there: Callable[[T], R], series: Series) -> None:
        """Start the helpers, if there are to be any and there are none yet."""
        if not self._here or self._executor is not None:
            return
        worth = min(idle() - 1, int(series.left / WORTH))
        helpers = worth if self._jobs is None else self._jobs - 1
        if helpers > 0:
            self._executor = self._stack.enter_context(_processes(helpers))
            with stopping.held(), _deaf():
                for _ in range(helpers):  # each begins a process
                    self._up.append(self._executor.submit(_has, there))

    @property
    def _room(self) -> int:
        """How many tasks may be out at a time; none before a helper is up to do them."""
        return FED * sum(task.done() for task in self._up) if self._here else AHEAD

    def results(
        self, items: Iterable[T], here: Callable[[T], R], there: Callable[[T], R], series: Series
    ) -> Generator[tuple[int, R], None, None]:
        """Yield the number of each item and its result, as they come.

        `there` is a task for another process, `here` the same for this one; `series` tells how long
        the rest will take.
        """
        running: dict[Future[R], int] = {}
        numbered, last = enumerate(items), 0
        try:
            while True:
                self._start_helpers(there, series)
                own = next(numbered, None) if self._here else None
                while self._executor is not None and len(running) < self._room:
                    if (further := next(numbered, None)) is None:
                        break
                    last = further[0]
                    running[self._executor.submit(there, further[1])] = last
                if own is not None:
                    last = max(last, own[0])
                    yield own[0], here(own[1])
                elif not running:
                    return
                yield from _done(running, None if own is None else 0.0)
                while running and last - min(running.values()) >= AHEAD:
                    yield from _done(running)
        finally:
            for task in running:
                task.cancel()


def _has(_: Callable[[T], R]) -> None:
    """Be done once a process has what a task needs."""


def _done(running: dict[Future[R], int], seconds: float | None = None) -> Iterator[tuple[int, R]]:
    """Take out the tasks that are done, after so many seconds or else when the first is.

    Raises KeyboardInterrupt if the time that was allowed is over before.
    """
    left = stopping.left()
    done, _ = wait(running, left if seconds is None else seconds, FIRST_COMPLETED)
    if seconds is None and not done:
        raise stopping.RunInterruptedError
    for task in sorted(done, key=running.__getitem__):
        yield running.pop(task), task.result()


def in_order(results: Iterable[tuple[int, R]]) -> Iterator[R]:
    """Yield the results in the order of their numbers."""
    early, due = dict[int, R](), 0
    for number, result in results:
        early[number] = result
        while due in early:
            yield early.pop(due)
            due += 1


def idle() -> int:
    """Return how many processes the idle cores can run: this one, and others beside it."""
    known = hasattr(os, "sched_getaffinity")
    cores = len(os.sched_getaffinity(0)) if known else os.cpu_count() or 1
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    return max(1, round(cores - load))


Pool = Callable[[], AbstractContextManager[Workers]]
"""A context with what runs the tasks; its processes are ended when they are done."""


def pool(jobs: int | None = 1, scheduler: str | None = None) -> Pool:
    """Return a pool of `jobs` processes, this one among them, or the cluster of the `scheduler`.

    None: this one, and more where a search lasts and cores are idle. The results are the same.
    """
    return partial(_workers, jobs, scheduler)


@contextmanager
def _workers(jobs: int | None, scheduler: str | None) -> Iterator[Workers]:
    with ExitStack() as stack:
        yield Workers(stack, jobs, scheduler)


@contextmanager
def _processes(count: int) -> Iterator[Executor]:
    """Give a pool of so many local processes. Raises InputError if one of them is killed.

    At its end they are ended, whatever they are doing.
    """
    spawn = get_context("spawn")
    stop, others = spawn.RawValue("b", 0), active_children()
    try:
        with ProcessPoolExecutor(count, spawn, _in_worker, (stop,)) as executor:
            try:
                yield executor
            finally:
                stop.value = 1
                executor.shutdown(wait=False, cancel_futures=True)
                _end([child for child in active_children() if child not in others])
    except BrokenExecutor as error:
        what = "a worker process was killed, perhaps for want of memory"
        instead = "--jobs 1 needs the least" if count == 1 else "fewer --jobs need less"
        raise InputError([Problem(what, instead=instead)]) from error


def _end(workers: Sequence[Any]) -> None:
    """Kill workers that don't end within GRACE, such as those still importing."""
    until = time.monotonic() + GRACE
    for worker in workers:
        worker.join(max(until - time.monotonic(), 0.0))
        worker.kill()


@contextmanager
def _deaf() -> Iterator[None]:
    """Start processes here with Ctrl-C ignored, which a terminal sends to all of them.

    Otherwise one that is still importing would print a traceback.
    """
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _in_worker(stop: Any) -> None:
    """Make a worker end on request or when its parent is gone, but not on Ctrl-C.

    (A pool whose workers die while its tasks are cancelled logs a long report.)
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    stopping.follow(lambda: bool(stop.value))
    parent = parent_process()
    if parent is not None:
        Thread(target=_outlive, args=(parent,), daemon=True).start()


def _outlive(parent: BaseProcess) -> None:
    parent.join()
    os._exit(1)
