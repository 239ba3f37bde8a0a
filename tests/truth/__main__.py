"""Hold answers to random lines against an oracle: `PYTHONPATH=.:tests python -m truth`."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial
from multiprocessing import get_context
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # a process is forked for each line: no threads here

from fuzz import trial
from truth.drawing import line
from truth.judge import HOW, Verdict, judged


def main() -> int:
    """Run what is asked for; return 1 if anything was wrong."""
    parser = argparse.ArgumentParser(prog="truth", description=__doc__)
    parser.add_argument("--lines", type=int, default=2000, help="how many; 2,000 if left out")
    parser.add_argument("--first", type=int, default=0, help="the number of the first")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="a folder for the files of what is wrong")
    parser.add_argument("--jobs", type=int, default=min(2, os.cpu_count() or 1))
    parser.add_argument("--verbose", action="store_true", help="a row for each line")
    asked = parser.parse_args()
    trial.load()
    began, verdicts = time.monotonic(), []
    numbers = range(asked.first, asked.first + asked.lines)
    with get_context("fork").Pool(asked.jobs) as pool, suppress(KeyboardInterrupt):
        for verdict in pool.imap(partial(_judged, asked.seed, asked.keep), numbers):
            verdicts.append(verdict)
            if asked.verbose or verdict.wrong or verdict.status == "undecided":
                print(verdict.row, flush=True)
    print(table(verdicts, time.monotonic() - began))
    return 1 if any(verdict.wrong for verdict in verdicts) else 0


def _judged(seed: int, keep: Path | None, number: int) -> Verdict:
    one = line(seed, number)
    verdict = judged(one, number)
    if keep is not None and (verdict.wrong or verdict.status == "undecided"):
        place = keep / str(number)
        place.mkdir(parents=True, exist_ok=True)
        for name, content in one.files().items():
            (place / name).write_bytes(content)
    return verdict


def table(verdicts: Sequence[Verdict], seconds: float) -> str:
    """Return the counts, on and off the pin axis."""
    sides = [[v for v in verdicts if v.on_axis == on] for on in (True, False)]
    lines = [f"{'':<36}{'on the pin axis':>16}{'off it':>12}"]

    def row(name: str, counted: Callable[[Verdict], bool]) -> None:
        counts = [sum(map(counted, side)) for side in sides]
        lines.append(f"{name:<36}{counts[0]:>16}{counts[1]:>12}")

    row("lines", lambda _: True)
    for kind in ("planted", "moved", "badly scaled"):
        row(f"  {kind}", lambda v, kind=kind: kind in v.kind)
    for status in ("feasible", "within_tolerance"):
        row(f"{status}, verified", lambda v, status=status: v.status == status and not v.wrong)
    row("infeasible", lambda v: v.status == "infeasible")
    for how in HOW:
        row(f"  second program: {how}", lambda v, how=how: v.confirmed.startswith(how))
    row("undecided", lambda v: v.status == "undecided")
    for why in sorted({v.reason for v in verdicts if v.status == "undecided"}):
        row(f"  {why}", lambda v, why=why: v.status == "undecided" and v.reason == why)
    shares = [
        100 * sum(v.status == "undecided" for v in side) / max(len(side), 1) for side in sides
    ]
    lines.append(f"{'  share':<36}{shares[0]:>14.1f} %{shares[1]:>10.1f} %")
    row("refused, with a clear error", lambda v: v.status == "error" and not v.wrong)
    row("wrong", lambda v: bool(v.wrong))
    longest = max(verdicts, key=lambda v: v.seconds)
    lines.append(f"{seconds:.0f} s; the longest, line {longest.number}: {longest.seconds:.1f} s")
    refused = Counter(v.reason[:90] for v in verdicts if v.status == "error")
    return "\n".join([*lines, *(f"  {count} x {why}" for why, count in refused.most_common(8))])


if __name__ == "__main__":
    sys.exit(main())
