"""Try random lines, and hold every answer against the oracle: `PYTHONPATH=.:tests python -m truth`."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections import Counter
from contextlib import suppress
from functools import partial
from multiprocessing import get_context
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # a process is forked for each line: no threads here

from fuzz import trial
from truth.judge import Verdict, judged
from truth.lines import line


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
            v = verdict
            if asked.verbose or v.wrong or v.status == "undecided":
                print(v.number, v.kind, "on" if v.on_axis else "off", v.status, f"{v.seconds:.1f} s",
                    v.confirmed, v.reason, *(f"\n    {fault}" for fault in v.wrong[:4]), flush=True)  # fmt: skip
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


def table(verdicts: list[Verdict], seconds: float) -> str:
    """Return the counts, on and off the pin axis."""
    rows = [("", "on the pin axis", "off it")]
    sides = [[v for v in verdicts if v.on_axis], [v for v in verdicts if not v.on_axis]]

    def row(name: str, counts: list[int]) -> None:
        rows.append((name, *(f"{count}" for count in counts)))

    row("lines", [len(side) for side in sides])
    for kind in ("planted", "moved"):
        row(f"  {kind}", [sum(v.kind.startswith(kind) for v in side) for side in sides])
    row("  badly scaled", [sum("badly" in v.kind for v in side) for side in sides])
    for status in ("feasible", "within_tolerance"):
        row(f"{status}, verified", [
            sum(v.status == status and not v.wrong for v in side) for side in sides])  # fmt: skip
    row("infeasible", [sum(v.status == "infeasible" for v in side) for side in sides])
    for how in ("proven", "none found", "not sought"):
        row(f"  second program: {how}", [
            sum(v.confirmed.startswith(how) for v in side) for side in sides])  # fmt: skip
    row("undecided", [sum(v.status == "undecided" for v in side) for side in sides])
    for why in sorted({v.reason for v in verdicts if v.status == "undecided"}):
        row(f"  {why}", [
            sum(v.status == "undecided" and v.reason == why for v in side) for side in sides])  # fmt: skip
    rows.append(("  share", *(
        f"{100 * sum(v.status == 'undecided' for v in side) / max(len(side), 1):.1f} %"
        for side in sides)))  # fmt: skip
    row(
        "refused, with a clear error",
        [sum(v.status == "error" and not v.wrong for v in side) for side in sides],
    )
    row("wrong", [sum(bool(v.wrong) for v in side) for side in sides])
    lines = [f"{name:<36}{one:>16}{other:>12}" for name, one, other in rows]
    longest = max(verdicts, key=lambda v: v.seconds, default=None)
    lines.append(
        f"{seconds:.0f} s"
        + (f"; longest line {longest.number}: {longest.seconds:.1f} s" if longest else "")
    )
    refused = Counter(v.reason[:110] for v in verdicts if v.status == "error")
    lines += [f"  {count} × {why}" for why, count in refused.most_common(8)]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
