"""What whole commands cost, beside what a solve must import: process time, as ratios.

The least of three runs of each, in turn, so that a busy machine is busy for all; one run of those
that take long. The aims: `solve` and `check` within 1.8 times the imports; `report`, `schedule` and
`compare` within 1.5 times a solve; an infeasible line, a window or a trade curve of an asymmetric
core within 5 times a feasible solve. `lines/` are lines on which designers once waited long.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from benchmarks.measuring import ROOT, Section, ratio, spent
from lines import line_text

from shared import remembered

LINES = Path(__file__).parent / "lines"
RUNS, LONG = 3, 3.0
"""How often a command is run; once if it takes more than so many seconds."""
IMPORTS = (sys.executable, "-c", "import numpy, scipy.optimize, highspy")
PLAIN = ("check juniper", "solve juniper", "report juniper", "schedule juniper")
MORE = ("compare juniper juniper-b", "solve hazel", "report hazel", "window juniper")
SLOW = (
    *("solve yew", "window yew", "solve elder", "solve short", "solve trade --trade differential"),
    *("solve metric", "solve cuts", "solve rack", "solve tilted"),
)


def command(words: str, folder: Path) -> tuple[str, ...]:
    """Return the command line of some words, in which a scenario goes by its name."""
    name, *rest = words.split()
    places = (ROOT / "scenarios", LINES, folder)
    files = {path.stem: path for place in places for path in place.glob("*.toml")}
    output = ["-o", str(page(words, folder)), "--force"] if name == "report" else []
    return (
        *(sys.executable, "-m", "optimizer.cli", name),
        *(str(files.get(word, word)) for word in rest),
        *output,
    )


def page(words: str, folder: Path) -> Path:
    """Return the file of a report's page."""
    return folder / f"{words}.html"


def seconds(line: tuple[str, ...], cache: Path) -> tuple[float, int]:
    """Return the process time of a command, user and system, and its exit code."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    here = {**os.environ, remembered.FOLDER: str(cache), "PYTHONDONTWRITEBYTECODE": ""}
    code = subprocess.run(line, cwd=ROOT, env=here, capture_output=True, check=False).returncode
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, code


def sections() -> Iterator[Section]:
    """Yield the table."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "hazel.toml").write_text(line_text(6, 5), encoding="utf-8")
        lines = {"imports": IMPORTS}
        lines |= {words: command(words, folder) for words in (*PLAIN, *MORE, *SLOW)}
        runs = [{words: seconds(line, folder) for words, line in lines.items()}]
        quick = [words for words, (taken, _) in runs[0].items() if taken < LONG]
        runs += [{words: seconds(lines[words], folder) for words in quick} for _ in range(RUNS - 1)]
        size = page("report hazel", folder).stat().st_size
    least = {words: min(run[words][0] for run in runs if words in run) for words in lines}
    imports, solve = least["imports"], least["solve juniper"]
    yield Section(
        "Whole commands, in processes of their own",
        ("command", "time", "× imports", "× solve", "exit code"),
        [
            (words, spent(s), ratio(s, imports), ratio(s, solve), str(runs[0][words][1]))
            for words, s in least.items()
        ],
        f"Imports are numpy, scipy.optimize and highspy; `solve` is Juniper's. Hazel has six parts "
        f"and five weights; its page has {size / 1000:.0f} kB.",
    )
