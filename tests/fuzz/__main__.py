"""Run mutants and name what they find: `PYTHONPATH=.:tests python -m fuzz --mutants 20000`."""

from __future__ import annotations

import argparse
import os
import shlex
import sys
import time
from collections import Counter
from contextlib import suppress
from functools import partial
from multiprocessing import get_context
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # a process is forked for each mutant: no threads here

from fuzz import kinds, trial
from fuzz.judge import faults
from fuzz.trial import Case, Outcome, tried

FOUND = Path(__file__).parent / "found"


def main() -> int:
    """Run what is asked for; return 1 if anything was found."""
    parser = argparse.ArgumentParser(prog="fuzz", description=__doc__)
    parser.add_argument("--mutants", type=int, default=20_000, help="how many; 20,000 if left out")
    parser.add_argument("--first", type=int, default=0, help="the number of the first mutant")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", choices=kinds.KINDS, help="of this kind only")
    parser.add_argument("--within", type=float, default=float("inf"), metavar="SECONDS")
    parser.add_argument("--keep", type=Path, help="a folder for the files of what is found")
    parser.add_argument("--jobs", type=int, default=os.cpu_count(), help="how many at a time")
    asked = parser.parse_args()
    trial.load()
    if asked.jobs > 1:
        kinds.CORPUS.make()  # else when it is needed
    log = Log(asked.keep)
    makers = [partial(found, folder) for folder in sorted(FOUND.iterdir()) if folder.is_dir()]
    makers += mutants(asked.seed, range(asked.first, asked.first + asked.mutants), asked.kind)
    with get_context("fork").Pool(asked.jobs) as pool, suppress(KeyboardInterrupt):
        for ended in pool.imap(_ended, makers):
            log.add(*ended)
            if time.monotonic() - log.began > asked.within:
                print(f"stopped in time, after {ended[0].name}")
                break
    log.end()
    return 1 if log.wrong else 0


def _ended(made: partial[Case]) -> tuple[Case, Outcome, list[str]]:
    """Return a case with its outcome, and with what is wrong."""
    case = made()
    outcome = tried(case)
    return case, outcome, list(faults(case, outcome))


class Log:
    """What was tried, and what came of it."""

    def __init__(self, folder: Path | None) -> None:
        self.folder, self.began = folder, time.monotonic()
        self.kinds, self.codes, self.wrong = Counter[str](), Counter[str](), Counter[str]()
        self.slowest: list[tuple[float, str]] = []

    def add(self, case: Case, outcome: Outcome, wrong: list[str]) -> None:
        """Count a case, and print what is wrong."""
        self.kinds[case.name.split()[0]] += 1
        self.codes[f"{case.arguments[0]} {outcome.code}"] += 1
        self.slowest = sorted([*self.slowest, (outcome.seconds, case.name)], reverse=True)[:3]
        self.wrong.update(fault.partition(":")[0] for fault in wrong)
        for fault in wrong:
            print(f"{case.name}: samespin {shlex.join(case.arguments)}\n    {fault!r}", flush=True)
        if wrong and self.folder is not None:
            keep(case, outcome, self.folder / case.name.replace(" ", "-"))

    def end(self) -> None:
        """Print a summary."""
        seconds = time.monotonic() - self.began
        print(f"{self.kinds.total()} cases in {seconds:.0f} s: {_told(self.kinds)}")
        print(f"exit codes: {_told(self.codes)}")
        print("longest:", ", ".join(f"{name} ({of:.1f} s)" for of, name in self.slowest))
        print(f"wrong: {_told(self.wrong) or 'nothing'}")


def _told(counts: Counter[str]) -> str:
    return ", ".join(f"{name}: {count}" for name, count in sorted(counts.items()))


def mutants(seed: int, numbers: range, kind: str | None) -> list[partial[Case]]:
    """Return what makes mutants, the kinds mixed unless one is asked for."""
    ring = [name for name, (_, share) in kinds.KINDS.items() for _ in range(share)]
    return [partial(kinds.mutant, kind or ring[37 * k % len(ring)], seed, k) for k in numbers]


def found(folder: Path) -> Case:
    """Return a case that was wrong once."""
    files = {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
    arguments = files.pop("arguments").decode().split("\n")
    return Case.of(f"found {folder.name}", files, arguments)


def keep(case: Case, outcome: Outcome, place: Path) -> None:
    """Write a case to a folder, and what it printed."""
    place.mkdir(parents=True, exist_ok=True)
    printed = {
        "arguments": "\n".join(case.arguments).encode(),
        "stdout": outcome.out,
        "stderr": outcome.err,
    }
    for name, content in (case.files | printed).items():
        (place / name).write_bytes(content)


if __name__ == "__main__":
    sys.exit(main())
