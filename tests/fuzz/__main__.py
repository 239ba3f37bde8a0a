"""Run mutants and name what they find: `PYTHONPATH=tests python -m fuzz --mutants 20000`."""

from __future__ import annotations

import argparse
import os
import shlex
import sys
import time
from collections import Counter
from collections.abc import Iterator
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
    asked = parser.parse_args()
    trial.load()
    log = Log(asked.keep)
    for case in found():
        log.add("found before", case)
    for kind, number in numbers(asked.first, asked.mutants, asked.kind):
        if time.monotonic() - log.began > asked.within:
            print(f"stopped in time; go on with --first {number}")
            break
        log.add(kind, kinds.mutant(kind, asked.seed, number))
    log.end()
    return 1 if log.wrong else 0


class Log:
    """What was tried, and what came of it."""

    def __init__(self, folder: Path | None) -> None:
        self.folder, self.began = folder, time.monotonic()
        self.kinds, self.codes, self.wrong = Counter[str](), Counter[str](), Counter[str]()
        self.slowest: list[tuple[float, str]] = []

    def add(self, kind: str, case: Case) -> None:
        """Try a case, and print what is wrong."""
        outcome = tried(case)
        self.kinds[kind] += 1
        self.codes[f"{case.arguments[0]} {outcome.code}"] += 1
        self.slowest = sorted([*self.slowest, (outcome.seconds, case.name)], reverse=True)[:3]
        wrong = list(faults(case, outcome))
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


def numbers(first: int, count: int, kind: str | None) -> Iterator[tuple[str, int]]:
    """Yield kinds and numbers of mutants, the kinds mixed."""
    ring = [name for name, (_, share) in kinds.KINDS.items() for _ in range(share)]
    for number in range(first, first + count):
        yield kind or ring[37 * number % len(ring)], number


def found() -> Iterator[Case]:
    """Yield the cases that were wrong once."""
    for folder in sorted(path for path in FOUND.iterdir() if path.is_dir()):
        files = {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
        yield Case.of(folder.name, files, files.pop("arguments").decode().split("\n"))


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
