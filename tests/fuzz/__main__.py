"""Run mutants and name what they find: `PYTHONPATH=tests python -m fuzz --mutants 20000`."""

from __future__ import annotations

import argparse
import os
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
    parser.add_argument("--mutants", type=int, default=20_000)
    parser.add_argument("--first", type=int, default=0, help="the number of the first mutant")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", choices=kinds.KINDS, help="of this kind only")
    parser.add_argument("--within", type=float, default=float("inf"), metavar="SECONDS")
    parser.add_argument("--keep", type=Path, help="a folder for the files of what is found")
    asked = parser.parse_args()
    trial.load()
    counts, found, slowest = Counter[str](), Counter[str](), list[tuple[float, str]]()
    codes, began = Counter[str](), time.monotonic()
    for kind, number in _numbers(asked.first, asked.mutants, asked.kind):
        if time.monotonic() - began > asked.within:
            print(f"stopped: the next mutant is --first {number}")
            break
        case = kinds.mutant(kind, asked.seed, number)
        outcome = tried(case)
        counts[kind] += 1
        codes[f"{case.arguments[0]} {outcome.code}"] += 1
        slowest = sorted([*slowest, (outcome.seconds, case.name)], reverse=True)[:5]
        for fault in faults(case, outcome):
            found[fault.partition(":")[0]] += 1
            print(f"{case.name}: samespin {' '.join(case.arguments)!r}\n    {fault}", flush=True)
            if asked.keep is not None:
                keep(case, asked.keep, outcome)
    print(f"{counts.total()} mutants in {time.monotonic() - began:.0f} s: {dict(counts)}")
    print(f"exit codes: {dict(sorted(codes.items()))}")
    print(f"slowest: {slowest}")
    print(f"found: {dict(found)}")
    return 1 if found else 0


def _numbers(first: int, count: int, kind: str | None) -> Iterator[tuple[str, int]]:
    """Yield kinds and numbers of mutants, the kinds mixed."""
    ring = [name for name, (_, share) in kinds.KINDS.items() for _ in range(share)]
    ring = [ring[(37 * k) % len(ring)] for k in range(len(ring))]
    for number in range(first, first + count):
        yield kind or ring[number % len(ring)], number


def keep(case: Case, folder: Path, outcome: Outcome | None = None) -> None:
    """Write a case to a folder of its own."""
    place = folder / case.name.replace(" ", "-")
    place.mkdir(parents=True, exist_ok=True)
    for name, content in case.files.items():
        (place / name).write_bytes(content)
    (place / "arguments").write_text("\n".join(case.arguments))
    if outcome is not None:
        (place / "stderr").write_bytes(outcome.err)
        (place / "stdout").write_bytes(outcome.out)


if __name__ == "__main__":
    sys.exit(main())
