"""Who runs work that comes in independent pieces: this process, a pool of them, or a cluster."""

from __future__ import annotations

import asyncio
import logging
import os
import signal
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, CancelledError, Executor, ProcessPoolExecutor
from contextlib import AbstractContextManager, ExitStack, contextmanager, nullcontext
from functools import partial
from multiprocessing import active_children, get_context, parent_process
from multiprocessing.process import BaseProcess
from threading import Thread
from typing import Any

from optimizer import version
from shared import stopping
from shared.errors import InputError, Problem

Pool = Callable[[], AbstractContextManager[Executor | None]]
"""Gives what runs the pieces, None for this process itself; it is let go when they are done."""

GRACE = 0.3
"""s that workers have to end when their work is called off."""
PATIENCE = 10.0
"""s that a cluster's scheduler has to answer."""


def pool(jobs: int = 1, scheduler: str | None = None) -> Pool:
    """Return who runs `jobs` pieces at a time, or the cluster whose `scheduler` is named."""
    if scheduler is not None:
        return partial(_cluster, scheduler)
    if jobs == 1:
        return nullcontext
    return partial(_processes, jobs)


@contextmanager
def _processes(jobs: int) -> Iterator[Executor]:
    """Give a pool of processes here. Raises InputError where one of them is killed.

    Where an exception ends the work they end, too, whatever they are at.
    """
    spawn = get_context("spawn")
    stop, others = spawn.RawValue("b", 0), active_children()
    try:
        with ProcessPoolExecutor(jobs, spawn, _in_worker, (stop,)) as executor:
            with stopping.held(), _deaf():
                for _ in range(jobs):  # each begins a process
                    executor.submit(os.getpid)
            try:
                yield executor
            except BaseException:
                stop.value = 1
                executor.shutdown(wait=False, cancel_futures=True)
                _end([one for one in active_children() if one not in others])
                raise
    except BrokenExecutor as error:
        what = f"--jobs {jobs}: a worker process was killed, perhaps for want of memory"
        raise InputError([Problem(what, instead="fewer jobs need less of it")]) from error


def _end(workers: Sequence[Any]) -> None:
    """End workers that don't within GRACE, such as those that are still importing."""
    until = time.monotonic() + GRACE
    for one in workers:
        one.join(max(until - time.monotonic(), 0.0))
        one.kill()


@contextmanager
def _deaf() -> Iterator[None]:
    """Let processes that are begun here not hear Ctrl-C, which a terminal sends to all of them.

    Else one that is still importing tells so with a traceback.
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
    """Let a worker end when it is told to or left alone, not by Ctrl-C, which reaches it, too.

    (A pool whose workers die while its tasks are called off says so at length.)
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    stopping.follow(lambda: bool(stop.value))
    parent = parent_process()
    if parent is not None:
        Thread(target=_outlive, args=(parent,), daemon=True).start()


def _outlive(parent: BaseProcess) -> None:
    parent.join()
    os._exit(1)


@contextmanager
def _cluster(address: str) -> Iterator[Executor]:
    """Give the executor of a Dask cluster. Raises InputError where it can't be used."""
    try:
        import distributed  # noqa: PLC0415 - an extra
    except ImportError as error:
        what, instead = (
            "--scheduler needs the package distributed",
            "pip install 'samespin[cluster]'",
        )
        raise InputError([Problem(what, instead=instead)]) from error
    with _lost(distributed, address), _silent("distributed"), ExitStack() as stack:
        try:
            if not asyncio.run(_workers(distributed, address)):
                raise _unfit(address, "has no workers", f"start some: dask worker {address}")
            client = distributed.Client(address, timeout=PATIENCE, set_as_default=False)
            stack.enter_context(client)
        except (OSError, ValueError) as error:
            instead = "name a running Dask scheduler, such as tcp://127.0.0.1:8786"
            what = f"does not answer as a Dask scheduler ({error})"
            raise _unfit(address, what, instead) from error
        _check_versions(client, address)
        yield stack.enter_context(client.get_executor())


@contextmanager
def _lost(distributed: Any, address: str) -> Iterator[None]:
    """Raise InputError where a cluster is lost while it works."""
    try:
        yield
    except (CancelledError, distributed.comm.CommClosedError) as error:
        instead = "see to the scheduler, or run here with --jobs"
        raise _unfit(address, "the connection to the scheduler was lost", instead) from error
    except distributed.KilledWorker as error:
        what = "workers were killed again and again, perhaps for want of memory"
        raise _unfit(address, what, "see to the workers, or run here with --jobs") from error


@contextmanager
def _silent(package: str) -> Iterator[None]:
    """Keep a package from logging: it tells tracebacks of what is said in one error."""
    loggers = [logging.getLogger(one) for one in (package, *logging.root.manager.loggerDict)]
    told = [one for one in loggers if one.name.startswith(package) and not one.disabled]
    for one in told:
        one.disabled = True
    try:
        yield
    finally:
        for one in told:
            one.disabled = False


async def _workers(distributed: Any, address: str) -> int:
    """Return how many workers a scheduler has: a client that can't connect complains at the end."""
    async with distributed.rpc(address, timeout=PATIENCE) as scheduler:
        said = await asyncio.wait_for(scheduler.identity(), PATIENCE)
        return len(said["workers"])


def _check_versions(client: Any, address: str) -> None:
    """Refuse workers that would not come to the same answer. Raises InputError."""
    here, instead = version(), "install the same samespin on every worker"
    found = set(client.run(version, on_error="return").values())
    if any(isinstance(one, Exception) for one in found):
        raise _unfit(address, "has workers that can't load samespin", instead)
    if found != {here}:
        told = " and ".join(sorted(found))
        raise _unfit(address, f"has workers with samespin {told}, and here is {here}", instead)


def _unfit(address: str, what: str, instead: str) -> InputError:
    return InputError([Problem(f"--scheduler {address}: {what}", instead=instead)])
