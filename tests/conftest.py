"""What holds for every run of the tests.

The same examples each time: a check that fails, fails again. Which of many cases are tried is told
by --cases (see `whole.py`). What is computed once for several tests has a folder for the run.

And interrupts as in a terminal: a shell starts what it puts into the background with interrupts
ignored, and what is started from there would ignore them too.
"""

from __future__ import annotations

import os
import signal
import tempfile
import time

import pytest
import store
import whole
from hypothesis import settings

from shared import remembered

LEFT = "left to another commit: the time of this one is used up"
ENDS = pytest.StashKey[float]()

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--cases",
        choices=whole.WHICH,
        default=whole.ALL,
        help="all cases, or all in the order of a ring; those that are quick and have their turn; "
        "or the rest, in its order",
    )
    parser.addoption(
        "--within",
        type=float,
        default=float("inf"),
        metavar="SECONDS",
        help="start no test after so long, and tell which were not",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Settle how much is tried; name the folder of the run, which its workers inherit."""
    examples = whole.EXAMPLES[config.getoption("cases")]
    settings.register_profile("same", derandomize=True, deadline=None, max_examples=examples)
    settings.load_profile("same")
    config.stash[ENDS] = time.monotonic() + config.getoption("within")
    os.environ[remembered.FOLDER] = ""  # a test that is about the cache names one of its own
    if store.FOLDER not in os.environ:
        folder = tempfile.TemporaryDirectory(prefix="samespin-store-")
        os.environ[store.FOLDER] = folder.name
        config.add_cleanup(folder.cleanup)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave what is asked for."""
    items[:], left = whole.chosen(items, config.getoption("cases"), whole.commit())
    config.hook.pytest_deselected(items=left)


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    if time.monotonic() > item.config.stash[ENDS]:
        pytest.skip(LEFT)


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    """Count the tests that were not started; name them, but those of a ring, which are most."""
    skipped = terminalreporter.stats.get("skipped", ())
    left = [one.nodeid for one in skipped if LEFT in str(one.longrepr)]
    if left:
        terminalreporter.section(f"{len(left)} tests {LEFT}")
        if config.getoption("cases") != whole.RING:
            terminalreporter.write_line("\n".join(left))
