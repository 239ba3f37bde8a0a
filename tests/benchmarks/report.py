"""What a report costs beside its solve, as whole processes, and how large its page is.

A line of five weights and six parts. Run A, then B, then A again …, so that a busy machine is busy
for both; medians of 7 pairs of process time (user and system). The aim: at most 1.5, under 500 kB.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from lines import line_text  # noqa: E402 - after the path

PAIRS = 7
SAMESPIN = (sys.executable, "-m", "optimizer.cli")


def seconds(*arguments: str) -> float:
    """Return the process time of a whole command. Raises CalledProcessError if it fails."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run((*SAMESPIN, *arguments), cwd=ROOT, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        scenario, solution, page = (f"{folder}/line.{end}" for end in ("toml", "json", "html"))
        Path(scenario).write_text(line_text(6, 5), encoding="utf-8")
        solve = ("solve", scenario, "-o", solution, "--force")
        report = ("report", solution, "-o", page, "--force")
        seconds(*solve), seconds(*report)
        pairs = [(seconds(*report), seconds(*solve)) for _ in range(PAIRS)]
        first, second = (statistics.median(times) for times in zip(*pairs, strict=True))
        ratio = statistics.median(a / b for a, b in pairs)
        print(f"{'samespin report, from the solution':38} {first:6.3f} s of process time")
        print(f"{'samespin solve':38} {second:6.3f} s    ratio {ratio:.2f}")
        print(f"{'the page':38} {Path(page).stat().st_size / 1000:6.0f} kB")


if __name__ == "__main__":
    main()
