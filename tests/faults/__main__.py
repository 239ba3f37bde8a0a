"""Count what is survived: `PYTHONPATH=.:tests python -m faults`, in half an hour on two cores."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial

from faults.commands import Command, whole
from faults.table import FAULTS, Fault
from faults.trial import Trial


def main() -> int:
    """Print the table; return 1 if a fault was not survived."""
    parser = argparse.ArgumentParser(prog="faults", description=__doc__)
    parser.add_argument("--only", metavar="WORD", default="", help="faults with this word")
    asked = parser.parse_args()
    wanted = {name: fault for name, fault in FAULTS.items() if asked.only in name}
    commands = dict.fromkeys(one for fault in wanted.values() for one in fault.commands)
    [*map(whole, commands)]
    print(f"{'fault':38} {'tried':>6} {'survived':>9} {'longest':>8}")
    survived = [_row(name, fault) for name, fault in wanted.items()]
    return 0 if all(survived) else 1


def _row(name: str, fault: Fault) -> bool:
    """Print a fault's row, and what is wrong below it."""
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        tried = [*pool.map(partial(_met, fault), fault.commands)]
    trials = [one for some in tried for one in some]
    wrong = [
        f"    {command.line}, {one.how}: {one.wrong}"
        for command, some in zip(fault.commands, tried, strict=True)
        for one in some
        if one.wrong
    ]
    longest = max(one.seconds for one in trials)
    seconds = f"{longest:.1f} s" if longest else ""
    print(f"{name:38} {len(trials):6} {len(trials) - len(wrong):9} {seconds:>8}".rstrip())
    print(*wrong, sep="\n", end="\n" * bool(wrong), flush=True)
    return not wrong


def _met(fault: Fault, command: Command) -> Sequence[Trial]:
    return [*fault.met(command)]


if __name__ == "__main__":
    sys.exit(main())
