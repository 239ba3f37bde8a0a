"""How the work grows with parts, weights and dimensions: exponents fitted over sizes of one family.

The family: a cover, a mantle, a block with a heart, and then thin rings round the block.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial

import numpy as np
from benchmarks.measuring import Section, exponent, least, spent
from lines import line_text

from optimizer.lineup.moulds.search import MouldSearch
from optimizer.lineup.moulds.starts import Starts
from optimizer.lineup.pipeline import solve_lineup
from optimizer.scenario import Scenario, linear_maps, scenario

PARTS, WEIGHTS, DIMENSIONS = (3, 5, 10, 20, 40), (1, 3, 6, 12, 24), (1, 2, 4, 8, 12)
LENGTH = re.compile(r"((?:diameter|height|thickness) = |at = \[0, 0, )([0-9.]+)")
ROOM = 0.06
"""in: how far a free dimension may be from what is drawn."""


def read(text: str) -> Scenario:
    """Return the scenario of a text."""
    return scenario(text, file="line.toml", target_required=True)


def rings(count: int) -> str:
    """Return so many thin rings, one above the other, half way between block and mantle."""
    text = ""
    for z in (np.arange(count) + 0.5) * 5.2 / max(count, 1) - 2.6:
        mantle, block = 3.7**2 - z**2, 1.7**2 * max(0.0, 1.0 - ((z - 0.3) / 3.05) ** 2)
        text += f'[[parts]]\nname = "ring at {z:.4f}"\nmaterial = "filled"\ninside = "mantle"\n'
        text += f'shape = {{ kind = "ring", diameter = {mantle**0.5 + block**0.5:.4f}, '
        text += f"thickness = 0.07 }}\nat = [0, 0, {z:.4f}]\n"
    return text


def line(parts: int, weights: int) -> Scenario:
    """Return a line of so many parts and weights, these 0.1 lb apart."""
    head, _, body = line_text(min(parts, 4), 1).partition("[weights]\n")
    table = "".join(f"w{k} = {15.9 - 0.1 * k:.2f}\n" for k in range(weights))
    body, _, limits = body.partition("\n")[2].partition("[limits]\n")
    limits = limits.replace("wall = { min = 0.08", "wall = { min = 0.02")
    return read(f"{head}[weights]\n{table}{body}{rings(max(0, parts - 4))}[limits]\n{limits}")


def free(count: int) -> Scenario:
    """Return a line of five parts and three weights, the first dimensions within the cover free."""
    head, cover, rest = line_text(5, 3).split("[[parts]]", 2)
    named = list[str]()

    def name(match: re.Match[str]) -> str:
        if len(named) == count:
            return match[0]
        at = float(match[2])
        named.append(f"d{len(named)} = {{ min = {at - ROOM}, max = {at + ROOM}, start = {at} }}\n")
        return f'{match[1]}"d{len(named) - 1}"'

    rest = LENGTH.sub(name, rest)
    head = head.replace("[materials", f"[dimensions]\n{''.join(named)}[materials", 1)
    return read("[[parts]]".join((head, cover, rest)))


def solved(asked: Scenario) -> None:
    """Solve a line; one that can't be made fails, since its time would be a proof's."""
    if solve_lineup(asked).status not in {"feasible", "within_tolerance"}:
        raise SystemExit(f"a line of the family can't be made: {len(asked.classes)} weights")


def programs(asked: Scenario) -> int:
    """Return how many programs one start's search for a mould takes, and search."""
    search = MouldSearch(asked, replace(Starts(), count=1))
    search.picked()
    return search.programs


def row(name: str, times: Mapping[int, float]) -> tuple[str, ...]:
    """Return the row of what was timed at some sizes."""
    ends = (min(times), max(times))
    first, last = (spent(times[end]) for end in ends)
    return (
        name,
        f"{ends[0]} … {ends[1]}",
        first,
        last,
        f"{exponent([*times], [*times.values()]):.2f}",
    )


def timed(run: Callable[[Scenario], object], lines: Mapping[str, Scenario]) -> dict[str, float]:
    """Return the time that each line takes."""
    return least({size: partial(run, asked) for size, asked in lines.items()}, 3)


def sections() -> Iterator[Section]:
    """Yield the table."""
    by_parts = {str(n): line(n, 4) for n in PARTS}
    by_weights = {str(n): line(8, n) for n in WEIGHTS}
    by_dimensions = {str(n): free(n) for n in DIMENSIONS}
    counts = {n: programs(asked) for n, asked in by_dimensions.items()}
    walked = timed(programs, by_dimensions)
    each = {n: taken / counts[n] for n, taken in walked.items()}
    table = {
        "a line of 4 weights, parts measured": timed(linear_maps, by_parts),
        "a line of 4 weights solved, by parts": timed(solved, by_parts),
        "a line of 8 parts solved, by weights": timed(solved, by_weights),
        "a mould's search, a start, by free dimensions": walked,
        "… each of its linear programs": each,
    }
    yield Section(
        "Growth, in lines of one family",
        ("work", "sizes", "first", "last", "exponent"),
        [row(name, {int(n): s for n, s in taken.items()}) for name, taken in table.items()],
        f"Exponents are fitted by least squares to logarithms, over parts {PARTS}, weights "
        f"{WEIGHTS}, dimensions {DIMENSIONS} of five parts in three weights.",
    )
