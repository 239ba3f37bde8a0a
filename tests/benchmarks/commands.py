"""What whole commands cost, beside what a solve must import: process time, as ratios.

The least of three runs of each, in turn, so that a busy machine is busy for all. Asked of a plain
solve and of `check`: at most 1.8 times the imports; of `report`, `schedule` and `compare`: at most
1.5 times a solve; of an infeasible line, a window or a trade curve of an asymmetric core: at most 5
times a feasible solve. `lines/` are lines on which designers once waited long.
"""

from __future__ import annotations

import platform
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
LINES = Path(__file__).parent / "lines"
RUNS = 3
HEAVY = ("numpy", "scipy", "cvxpy", "highspy", "pydantic", "rich", "trimesh")
IMPORTS = (sys.executable, "-c", "import numpy, scipy.optimize, highspy")
SHIPPED = ("check juniper", "solve juniper", "report juniper", "schedule juniper")
MORE = ("compare juniper juniper-b", "window juniper", "solve yew", "window yew", "solve elder")
SLOW = (
    "solve short",
    "solve trade --trade differential",
    "solve metric",
    "solve cuts",
    "solve rack",
)
UNDECIDED = ("solve tilted",)


def command(words: str, folder: Path) -> tuple[str, ...]:
    """Return the command line of some words, in which a scenario goes by its name."""
    name, *rest = words.split()
    files = {path.stem: path for path in (ROOT / "scenarios").glob("*.toml")}
    files |= {path.stem: path for path in LINES.glob("*.toml")}
    output = ["-o", str(folder / "page.html"), "--force"] if name == "report" else []
    return (
        *(sys.executable, "-m", "optimizer.cli", name),
        *(str(files.get(word, word)) for word in rest),
        *output,
    )


def seconds(line: tuple[str, ...]) -> tuple[float, int]:
    """Return the process time of a command, user and system, and its exit code."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    code = subprocess.run(line, cwd=ROOT, capture_output=True, check=False).returncode
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, code


def heavy_imports(argument: str) -> list[str]:
    """Return the heavy packages that `samespin` imports with this argument."""
    line = (sys.executable, "-X", "importtime", "-m", "optimizer.cli", argument)
    told = subprocess.run(line, cwd=ROOT, check=True, capture_output=True, text=True).stderr
    names = {row.rpartition("|")[2].strip().partition(".")[0] for row in told.splitlines()}
    return [name for name in HEAVY if name in names]


def main() -> None:
    """Print the figures."""
    print(f"whole commands, process time; Python {platform.python_version()}, {platform.machine()}")
    with tempfile.TemporaryDirectory() as folder:
        lines = {"imports": IMPORTS}
        lines |= {
            words: command(words, Path(folder)) for words in (*SHIPPED, *MORE, *SLOW, *UNDECIDED)
        }
        runs = [{words: seconds(line) for words, line in lines.items()} for _ in range(RUNS)]
    least = {words: min(run[words][0] for run in runs) for words in lines}
    print(f"{'command':38} {'s':>7} {'imports':>8} {'solve':>7}  exit code")
    for words, taken in least.items():
        ratios = f"{taken / least['imports']:8.2f} {taken / least['solve juniper']:7.2f}"
        print(f"{words:38} {taken:7.2f} {ratios}  {runs[0][words][1]}")
    for argument in ("--help", "--version"):
        print(
            f"samespin {argument} imports:", ", ".join(heavy_imports(argument)) or "nothing heavy"
        )


if __name__ == "__main__":
    main()
