"""Faults of a Dask cluster: one that loses a worker, or its scheduler, once tasks run on it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Final

from faults.commands import BARE, Command, folder, run, whole
from faults.files import OLD
from faults.trial import Trial

COMMANDS: Final = [
    Command("solve elder.toml --starts 12 --jobs 1 -o x.json", ("x.json",)),
    Command("explore elder.toml --samples 12 --jobs 1 -o x.csv", ("x.csv",), grows=True),
]
CLUSTER: Final = """
import os, signal, time
from distributed import LocalCluster
if __name__ == "__main__":
    one = LocalCluster(
        n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address="127.0.0.1:0"
    )
    print(one.scheduler_address, flush=True)
    while not all(state.processing for state in one.scheduler.workers.values()):
        time.sleep(0.01)
    os.kill({killed}, signal.SIGKILL)
    print("killed", flush=True)
    time.sleep(600)
"""
"""A scheduler and two workers; once both have tasks, something is killed."""
WORKER, SCHEDULER = "one.workers[0].pid", "os.getpid()"


@contextmanager
def _losing(killed: str) -> Iterator[tuple[str, list[str]]]:
    """Give the address of a cluster that loses something, and what it tells in the end."""
    told = list[str]()
    ran = subprocess.Popen(  # noqa: S603 - our own words
        [sys.executable, "-c", CLUSTER.format(killed=killed)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        encoding="utf-8",
        env=BARE | {"SAMESPIN_CACHE": ""},
    )
    assert ran.stdout is not None
    try:
        yield ran.stdout.readline().strip(), told
    finally:
        ran.kill()  # its workers end with it
        told.append(ran.communicate()[0])


def _there(command: Command, address: str) -> Command:
    return replace(command, line=command.line.replace("--jobs 1", f"--scheduler {address}"))


def worker_killed(command: Command) -> Iterator[Trial]:
    """Kill a worker with tasks: the other, and one begun anew, come to the same answer."""
    with _losing(WORKER) as (address, told), folder() as place:
        done = run(_there(command, address), place)
    (name,), good, wrong = command.writes, whole(command), done.untidy
    if done.code != good.code:
        wrong = f"exit {done.code}: {done.err!r}"
    elif told != ["killed\n"]:
        wrong = "no worker was killed"
    elif done.files[name] != good.files[name]:
        wrong = f"{name} is another"
    yield Trial("with tasks", wrong)


def scheduler_gone(command: Command) -> Iterator[Trial]:
    """Kill the scheduler: one clear error, and what is done is kept."""
    with _losing(SCHEDULER) as (address, _), folder() as place:
        (name,) = command.writes
        (place / name).write_bytes(OLD)
        done = run(_there(command, address), place)
    found, wrong = done.files[name], done.untidy
    if done.code != 3 or done.err.count("\n") != 1 or "scheduler was lost" not in done.err:
        wrong = f"exit {done.code}: {done.err!r}"
    if found != OLD and not (command.grows and whole(command).files[name].startswith(found)):
        wrong = f"{name} is neither old nor new"
    yield Trial("with tasks", wrong)
