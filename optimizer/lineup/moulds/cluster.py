"""The workers of a Dask cluster."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Iterator
from concurrent.futures import CancelledError, Executor
from contextlib import ExitStack, contextmanager
from typing import Any

from optimizer import version
from shared.errors import InputError, Problem

PATIENCE = 10.0
"""s: how long a cluster's scheduler has to answer."""


@contextmanager
def cluster(address: str) -> Iterator[Executor]:
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
            if not asyncio.run(_counted(distributed, address)):
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


async def _counted(distributed: Any, address: str) -> int:
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
