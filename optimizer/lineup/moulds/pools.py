"""Where independent tasks run: in this process, in a pool of processes, or on a cluster."""

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
"""A context with the executor of the tasks, None for this process; it closes when they are done."""

GRACE = 0.3
"""s: how long workers have to end when their work is cancelled."""
PATIENCE = 10.0
"""s: how long a cluster's scheduler has to answer."""


def pool(jobs: int = 1, scheduler: str | None = None) -> Pool:
    """Return a pool that runs `jobs` tasks at a time, or the cluster of the `scheduler`."""
    if scheduler is not None:
        return partial(_cluster, scheduler)
    if jobs == 1:
        return nullcontext
    return partial(_processes, jobs)


@contextmanager
def _processes(jobs: int) -> Iterator[Executor]:
    """Give a pool of local processes. Raises InputError if one of them is killed.

    If an exception ends the work, they are ended too, whatever they are doing.
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
                _end([child for child in active_children() if child not in others])
                raise
    except BrokenExecutor as error:
        what = f"--jobs {jobs}: a worker process was killed, perhaps for want of memory"
        raise InputError([Problem(what, instead="fewer jobs need less of it")]) from error


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


@contextmanager
def _cluster(address: str) -> Iterator[Executor]:
    """Give the executor of a Dask cluster. Raises InputError if it can't be used."""
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
    """Raise InputError if a cluster is lost during the work."""
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
    """Silence a package's loggers: they print tracebacks of what logger error says."""
    loggers = [logging.getLogger(logger) for logger in (package, *logging.root.manager.loggerDict)]
    own = [each for each in loggers if each.name.startswith(package) and not each.disabled]
    for logger in own:
        logger.disabled = True
    try:
        yield
    finally:
        for logger in own:
            logger.disabled = False


async def _workers(distributed: Any, address: str) -> int:
    """Return a scheduler's number of workers; a client that can't connect complains at exit."""
    async with distributed.rpc(address, timeout=PATIENCE) as scheduler:
        identity = await asyncio.wait_for(scheduler.identity(), PATIENCE)
        return len(identity["workers"])


def _check_versions(client: Any, address: str) -> None:
    """Raise InputError for workers whose versions could give another answer."""
    here, instead = version(), "install the same samespin on every worker"
    versions = set(client.run(version, on_error="return").values())
    if any(isinstance(answer, Exception) for answer in versions):
        raise _unfit(address, "has workers that can't load samespin", instead)
    if versions != {here}:
        theirs = " and ".join(sorted(versions))
        raise _unfit(address, f"has workers with samespin {theirs}, and here is {here}", instead)


def _unfit(address: str, what: str, instead: str) -> InputError:
    return InputError([Problem(f"--scheduler {address}: {what}", instead=instead)])
