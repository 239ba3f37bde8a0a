"""How benchmarks measure and print: processor time, ways in turn, tables of one width."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
from rich import box
from rich.console import Console
from rich.table import Table

ROOT = Path(__file__).parents[2]
WIDTH = 100
LONG_ENOUGH = 0.01
"""s: what takes less is run so often that it takes as long."""


class Section(NamedTuple):
    """A table of the page: finished cells, the first column words, and a sentence about them."""

    title: str
    columns: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]
    note: str = ""


def least(ways: Mapping[str, Callable[[], object]], runs: int = 5) -> dict[str, float]:
    """Return the least processor time, s, of each way: all in turn, so a busy machine is fair."""
    counts = {
        name: math.ceil(LONG_ENOUGH / max(_seconds(run, 1), 1e-7)) for name, run in ways.items()
    }
    rounds = [
        {name: _seconds(run, counts[name]) for name, run in ways.items()} for _ in range(runs)
    ]
    return {name: min(times[name] for times in rounds) for name in ways}


def _seconds(run: Callable[[], object], count: int) -> float:
    start = time.process_time()
    for _ in range(count):
        run()
    return (time.process_time() - start) / count


def exponent(sizes: Sequence[float], times: Sequence[float]) -> float:
    """Return the slope of times over sizes, both as logarithms, by least squares."""
    return float(np.polyfit(np.log(sizes), np.log(times), 1)[0])


def spent(seconds: float) -> str:
    """Return a time with three digits and its unit."""
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("µs", 1e-6)):
        if seconds >= size:
            return f"{float(f'{seconds / size:.3g}'):g} {unit}"
    return f"{seconds / 1e-6:.2f} µs"


def ratio(seconds: float, to: float) -> str:
    """Return how many times as long it takes."""
    return f"{float(f'{seconds / to:.3g}'):g}×"


def show(section: Section, console: Console) -> None:
    """Print a section."""
    table = Table(
        box=box.SIMPLE_HEAD,
        title=section.title,
        title_justify="left",
        title_style="bold",
        width=WIDTH,
    )
    for k, column in enumerate(section.columns):
        table.add_column(column, justify="right" if k else "left", ratio=None if k else 1)
    for row in section.rows:
        table.add_row(*row)
    console.print(table)
    if section.note:
        console.print(f"{section.note}\n", soft_wrap=False)


def markdown(section: Section) -> str:
    """Return a section in Markdown."""
    ends = ["---", *["---:"] * (len(section.columns) - 1)]
    lines = [f"| {' | '.join(row)} |" for row in (section.columns, ends, *section.rows)]
    return "\n".join([f"## {section.title}", "", *lines, "", section.note, ""])
