"""Planted line-ups of asymmetric cores, all of them: how many are solved back, and how fast.

With no intermediate differential, about either point: high and intermediate RG meet in a corner.
With a turned block that is stretched and rotated any way: its axes are those of the oracle.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator

from planted import missed_turned, missed_uprights

WHOLE: tuple[tuple[str, Callable[[str, int], Iterator[str]], str, int], ...] = (
    ("no intermediate differential", missed_uprights, "cg", 60),
    ("no intermediate differential", missed_uprights, "centre", 60),
    ("stretched and rotated turned block", missed_turned, "cg", 100),
    ("stretched and rotated turned block", missed_turned, "centre", 100),
)


def main() -> None:
    """Print the figures."""
    wrong = 0
    for what, missed, about, count in WHOLE:
        start = time.perf_counter()
        said = list(missed(about, count))
        seconds = time.perf_counter() - start
        print(f"{what}, about {about}: {count} planted in {seconds:.0f} s, {len(said)} wrong")
        print(*said, sep="\n", end="\n" if said else "")
        wrong += len(said)
    if wrong:
        sys.exit("not all were solved back")


if __name__ == "__main__":
    main()
