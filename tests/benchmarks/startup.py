"""What a command costs as a whole process, beside what its heaviest import costs alone.

Run A, then B, then A again …, so that a busy machine is busy for both; medians of 7 pairs.
The aim is at most 1.5 for solve. `--help` must import nothing heavy.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAIRS = 7
HEAVY = ("numpy", "scipy", "cvxpy", "highspy", "pydantic", "rich", "trimesh")
SAMESPIN = (sys.executable, "-m", "optimizer.cli")


def seconds(command: Sequence[str]) -> float:
    """Return how long a whole process takes. Raises CalledProcessError if it fails."""
    start = time.perf_counter()
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    return time.perf_counter() - start


def compared(name: str, command: Sequence[str], other_name: str, other: Sequence[str]) -> None:
    """Print the medians of two commands, run in turn, and the median of their ratios."""
    seconds(command), seconds(other)  # warm: compiled modules, the file cache
    pairs = [(seconds(command), seconds(other)) for _ in range(PAIRS)]
    first, second = (statistics.median(times) for times in zip(*pairs, strict=True))
    ratio = statistics.median(a / b for a, b in pairs)
    print(f"{name:38} {first:6.3f} s")
    print(f"{other_name:38} {second:6.3f} s    ratio {ratio:.2f}")


def heavy_imports(*arguments: str) -> list[str]:
    """Return the heavy packages that the command line imports with these arguments."""
    told = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "optimizer.cli", *arguments],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    ).stderr
    names = {line.rpartition("|")[2].strip().partition(".")[0] for line in told.splitlines()}
    return [name for name in HEAVY if name in names]


def main() -> None:
    """Print the figures."""
    solve = (*SAMESPIN, "solve", "scenarios/juniper.toml")
    compared(
        "samespin solve scenarios/juniper.toml",
        solve,
        'python -c "import cvxpy"',
        (sys.executable, "-c", "import cvxpy"),
    )
    compared("samespin --help", (*SAMESPIN, "--help"), "python -c pass", (sys.executable, "-c", ""))
    for argument in ("--help", "--version"):
        print(f"samespin {argument} imports of {', '.join(HEAVY)}:", end=" ")
        print(", ".join(heavy_imports(argument)) or "none")


if __name__ == "__main__":
    main()
