"""The table of all that is tried: each fault with the commands that meet it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Final, NamedTuple

from faults import cluster, files, signals, surroundings
from faults.commands import EXPLORE, PRINTING, SEARCHING, WRITING, Command
from faults.trial import Trial


class Fault(NamedTuple):
    """What goes wrong, and with which commands."""

    met: Callable[[Command], Iterator[Trial]]
    commands: Sequence[Command]


FORMATS: Final = [one for one in WRITING if one.line.startswith("solve juniper")]
BOTH: Final = [*PRINTING, *FORMATS]
FAULTS: Final[Mapping[str, Fault]] = {
    "kill -9 before each change of a file": Fault(files.kill_between, WRITING),
    "kill -9 within a write": Fault(files.kill_within, WRITING),
    "disk full": Fault(files.disk_full, WRITING),
    "read-only folder": Fault(files.read_only_folder, WRITING),
    "two runs, one file": Fault(files.two_runs, [*FORMATS, EXPLORE]),
    "no HOME": Fault(surroundings.no_home, BOTH),
    "no terminal": Fault(surroundings.no_terminal, BOTH),
    "narrow terminal": Fault(surroundings.columns, BOTH),
    "NO_COLOR": Fault(surroundings.no_color, BOTH),
    "locale without our signs": Fault(surroundings.locale, BOTH),
    "closed pipe": Fault(surroundings.closed_pipe, BOTH),
    "/dev/full": Fault(surroundings.full_device, BOTH),
    "Dask worker killed": Fault(cluster.worker_killed, cluster.COMMANDS),
    "Dask scheduler gone": Fault(cluster.scheduler_gone, cluster.COMMANDS),
    "Ctrl-C, SIGTERM": Fault(signals.signals, SEARCHING),
}
