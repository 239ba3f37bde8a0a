"""A thousand candidates of the example with free dimensions: their pace, and what they need to run.

From the first to the last the memory is to stay where it is.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

from benchmarks.measuring import ROOT

from optimizer.lineup.moulds.pools import pool
from optimizer.questions.explore.explore import explored, to_pick
from optimizer.questions.explore.picture import explore_picture
from optimizer.questions.explore.summary import summary
from optimizer.questions.explore.table import Table
from optimizer.scenario import scenario

COUNT, EVERY = 1000, 200
ROOM = 30.0
"""MB that the last four fifths may take more than the first."""


def megabytes() -> float:
    """Return the most memory that this process has held, MB."""
    size = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return size / (1 << 20 if sys.platform == "darwin" else 1 << 10)


def main() -> None:
    """Print the figures."""
    text = (ROOT / "scenarios" / "elder.toml").read_text(encoding="utf-8")
    asked = scenario(text, file="elder.toml", target_required=True)
    slots = to_pick(asked)
    table, held = Table(asked, slots, 2026), list[float]()
    print(
        f"{COUNT} candidates, {len(asked.classes)} weights, {len(slots)} free dimensions, one job"
    )
    with tempfile.TemporaryDirectory() as folder:
        path, start = Path(folder) / "table.csv", time.perf_counter()
        with path.open("wb") as stream:
            stream.write(table.header)
            for n, one in enumerate(explored(asked, slots, 2026, range(COUNT), pool()), start=1):
                stream.write(table.line(n, one))
                if n % EVERY == 0:
                    pace, most = n / (time.perf_counter() - start), megabytes()
                    held.append(most)
                    print(f"{n:6} done {pace:6.1f} a second {most:8.1f} MB at the most", flush=True)
        found = summary(lambda: table.rows(path))
        explore_picture(table, found, lambda: table.rows(path))
    most = megabytes()
    print(f"{found.feasible} feasible; summary and picture: {most:.1f} MB at the most")
    if most - held[0] > ROOM:
        sys.exit("the memory grew")


if __name__ == "__main__":
    main()
