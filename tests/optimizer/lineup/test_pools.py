"""A cluster as people have one: a scheduler and two workers, each a process, on loopback."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from importlib import import_module
from itertools import count, takewhile
from pathlib import Path
from threading import Event, Timer
from types import SimpleNamespace

import pytest
from optimizer_texts import shipped
from waiting import PATIENT

from optimizer.lineup.moulds import cluster as cluster_module
from optimizer.lineup.moulds import pools
from optimizer.lineup.moulds.pools import pool
from optimizer.lineup.moulds.search import MouldSearch
from optimizer.lineup.moulds.starts import Starts
from optimizer.questions.explore.explore import explored, to_pick
from optimizer.scenario import scenario
from shared.activity import Series
from shared.errors import InputError

ROOT = Path(__file__).parents[3]
ELDER = shipped("elder")


@pytest.fixture(scope="module")
def cluster() -> Iterator[str]:
    """The address of a scheduler with two workers."""
    distributed = pytest.importorskip(
        "distributed",
        reason="the extra `cluster` is not installed: pip install 'samespin[cluster]'",
    )
    with pytest.MonkeyPatch.context() as environment:
        known = os.environ.get("PYTHONPATH", "")
        environment.setenv("PYTHONPATH", os.pathsep.join(filter(None, (str(ROOT), known))))
        environment.setattr(cluster_module, "PATIENCE", PATIENT)
        with distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address="127.0.0.1:0"
        ) as local:
            yield local.scheduler_address


def _picked(how: Starts):
    asked = scenario(ELDER, file="elder.toml", target_required=True)
    return MouldSearch(asked, how).picked()


def test_a_cluster_comes_to_the_same_to_the_last_digit(cluster):
    here, there = (_picked(Starts(3, pool=one)) for one in (pool(), pool(scheduler=cluster)))
    assert there.scenario.chosen == here.scenario.chosen
    assert (there.starts, there.agreed, there.programs) == (here.starts, here.agreed, here.programs)


@pytest.mark.slow
def test_candidates_of_an_exploration_do_too_and_in_their_order(cluster):
    asked = scenario(ELDER, file="elder.toml", target_required=True)
    here, there = (
        list(explored(asked, to_pick(asked), 1, range(5), one))
        for one in (pool(), pool(scheduler=cluster))
    )
    assert there == here


def test_the_workers_do_the_work(cluster):
    with pool(scheduler=cluster)() as workers:
        found = set(_results(workers, range(20), _process).values())
    assert len(found) == 2
    assert os.getpid() not in found


def _results(workers, items, task, series=None):
    return dict(workers.results(items, task, task, series or Series("tasks", len(items))))


def _process(_n: int) -> int:
    time.sleep(0.01)
    return os.getpid()


def _until(enough):
    """Numbers, until there is enough, or a test would wait no longer."""
    end = time.monotonic() + PATIENT
    return takewhile(lambda _: not enough() and time.monotonic() < end, count())


def test_two_processes_are_this_one_and_another():
    """The other gets its first task once it is up: none waits for it."""
    found = dict[int, int]()
    numbers = _until(lambda: len(set(found.values())) == 2)
    with pool(2)() as workers:
        for number, process in workers.results(numbers, _process, _process, Series("tasks", 9)):
            found[number] = process
    assert sorted(found) == list(range(len(found)))
    assert found[0] == os.getpid()
    assert len(set(found.values())) == 2


def test_none_runs_far_ahead_of_a_task_that_lasts(monkeypatch):
    """Else results that wait for its own would need ever more memory."""
    began, stuck = [], Event()

    def here(n):
        began.append(n)
        return n

    def there(n):
        if n == 1:
            stuck.wait(PATIENT)
        return n

    monkeypatch.setattr(pools, "_processes", ThreadPoolExecutor)
    with pool(2)() as workers:
        results = workers.results(range(2000), here, there, Series("tasks", 2000))
        Timer(0.3, lambda: (began.append("released"), stuck.set())).start()
        assert sorted(dict(results)) == list(range(2000))
    assert began.index("released") <= pools.AHEAD


def test_results_are_put_in_order():
    assert list(pools.in_order([(2, "c"), (0, "a"), (1, "b"), (3, "d")])) == list("abcd")


@pytest.mark.parametrize(
    ("idle", "left", "begun"),
    [(1, 100.0, []), (4, 1.9, []), (4, 4.1, [2]), (4, 100.0, [3])],
)
def test_other_processes_are_begun_for_work_that_lasts_on_idle_cores(
    idle, left, begun, monkeypatch
):
    """Each has two seconds of work at least; one core is this process's own."""
    asked = []

    @contextmanager
    def processes(count):
        asked.append(count)
        with ThreadPoolExecutor(count) as executor:
            yield executor

    monkeypatch.setattr(pools, "idle", lambda: idle)
    monkeypatch.setattr(pools, "_processes", processes)
    with pool(None)() as workers:
        found = _results(workers, range(20), abs, SimpleNamespace(left=left))
    assert (found, asked) == ({n: n for n in range(20)}, begun)


@pytest.mark.parametrize(("cores", "load", "idle"), [(8, 0.3, 8), (8, 2.6, 5), (2, 3.1, 1)])
def test_idle_cores_are_those_that_this_process_may_use_less_the_load(
    cores, load, idle, monkeypatch
):
    known = SimpleNamespace(
        sched_getaffinity=lambda _process: set(range(cores)), getloadavg=lambda: (load, 9.0, 9.0)
    )
    monkeypatch.setattr(pools, "os", known)
    assert pools.idle() == idle


def test_an_interrupt_lets_the_cluster_go(cluster, monkeypatch):
    """The first start that is done raises what Ctrl-C does; the cluster is fit for the next."""

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    asked = scenario(ELDER, file="elder.toml", target_required=True)
    search = MouldSearch(asked, Starts(6, pool=pool(scheduler=cluster)))
    monkeypatch.setattr(Series, "step", interrupted)
    with pytest.raises(KeyboardInterrupt):
        search.picked()
    found = search.so_far()
    assert found is not None
    assert found.starts < 6
    with pool(scheduler=cluster)() as workers:
        assert _results(workers, [-3], abs) == {0: 3}


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("127.0.0.1", "missing port number"),
        ("nonsense://here:8786", "unknown address scheme"),
        ("tcp://127.0.0.1:1", "does not answer as a Dask scheduler"),
    ],
)
def test_an_address_where_no_scheduler_is_is_one_clear_error(address, said, monkeypatch):
    pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    monkeypatch.setattr("optimizer.lineup.moulds.cluster.PATIENCE", 1.0)
    with pytest.raises(InputError, match=said) as caught, pool(scheduler=address)():
        pass
    (problem,) = caught.value.problems
    assert problem.what.startswith(f"--scheduler {address}: ")
    assert "tcp://127.0.0.1:8786" in (problem.instead or "")


def test_a_worker_that_is_killed_is_one_clear_error():
    with pytest.raises(InputError, match="a worker process was killed") as caught:
        _killed_worker()
    assert caught.value.exit_code == 3


def _killed_worker():
    with pool(2)() as workers:
        list(workers.results(_until(bool), _process, os._exit, Series("tasks", 100)))


def _asked_of(address, killed):
    """Wait for a task of a cluster, which is `killed` meanwhile."""
    try:
        with pool(scheduler=address)() as workers:
            Timer(1.0, killed).start()
            _results(workers, [600], time.sleep)
    finally:
        killed()


LONELY = """
import time
from distributed import LocalCluster
if __name__ == "__main__":
    one = LocalCluster(
        protocol="tcp://",
        processes=False,
        n_workers=1,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",
    )
    print(one.scheduler_address, flush=True)
    time.sleep(600)
"""


def test_a_scheduler_that_is_killed_is_one_clear_error(capfd, monkeypatch):
    """While a task runs on it; and nothing is told but that error: no traceback of Dask's."""
    pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    monkeypatch.setattr(cluster_module, "PATIENCE", PATIENT)
    with subprocess.Popen(  # noqa: S603 - our own words
        [sys.executable, "-c", LONELY],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as ran:
        assert ran.stdout is not None
        address = ran.stdout.readline().strip()
        with pytest.raises(InputError, match="the connection to the scheduler was lost"):
            _asked_of(address, ran.kill)
    assert capfd.readouterr().err == ""


def test_something_else_that_answers_is_no_scheduler(monkeypatch):
    pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    monkeypatch.setattr("optimizer.lineup.moulds.cluster.PATIENCE", 1.0)
    with socket.create_server(("127.0.0.1", 0)) as mute:
        address = f"127.0.0.1:{mute.getsockname()[1]}"
        with (
            pytest.raises(InputError, match="does not answer as a Dask scheduler"),
            pool(scheduler=address)(),
        ):
            pass


def test_a_scheduler_without_workers_is_told(monkeypatch):
    distributed = pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    monkeypatch.setattr(cluster_module, "PATIENCE", PATIENT)
    with (
        distributed.LocalCluster(
            n_workers=0, host="127.0.0.1", dashboard_address="127.0.0.1:0"
        ) as empty,
        pytest.raises(InputError, match="has no workers"),
        pool(scheduler=empty.scheduler_address)(),
    ):
        pass


class _Version:
    """Says the version here, and on a worker is whatever it is made into by `made`."""

    def __init__(self, *made):
        self.made = made

    def __call__(self):
        return "9.9"

    def __reduce__(self):
        return self.made


def test_workers_without_samespin_or_with_another_one_are_refused(cluster, monkeypatch):
    """A worker that can't load what it is sent fails as one without samespin does."""
    monkeypatch.setattr(cluster_module, "version", _Version(partial, (str, "8.8")))
    with (
        pytest.raises(InputError, match=r"has workers with samespin 8\.8, and here is 9\.9"),
        pool(scheduler=cluster)(),
    ):
        pass
    monkeypatch.setattr(cluster_module, "version", _Version(import_module, ("no_such_module",)))
    with pytest.raises(InputError, match="can't load samespin"), pool(scheduler=cluster)():
        pass


def test_without_the_extra_it_is_said_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(InputError, match=r"pip install 'samespin\[cluster\]'"),
        pool(scheduler="tcp://127.0.0.1:8786")(),
    ):
        pass
