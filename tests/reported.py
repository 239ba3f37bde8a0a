"""Some lines and their reports, for a browser to open."""

from __future__ import annotations

from functools import cache

import numpy as np
from answers import example, solved
from optimizer_texts import FOLDER, SHELLS
from oracles.lineups import manufactured
from store import stored

from optimizer.lineup.result import LineupResult, Search
from optimizer.lineup.stating import measured
from optimizer.paper.document import Report
from optimizer.questions.compare.compare import comparison
from optimizer.questions.compare.page import comparison_report
from optimizer.questions.report.page import overview
from optimizer.questions.window.window import window
from optimizer.scenario import linear_maps, read_scenario, scenario
from shared.arrays import frozen

LIMITS = """
rulebook = "usbc"
pin_distance = { min = 1.0, max = 110.0, tolerance = 5.0 }
density_step = { max = 1.0, tolerance = 0.03 }
wall = { min = 5.0, tolerance = 0.5 }
"""
LINES = ("juniper", "yew", "tilted", "larch-metric")
"""The first is solved. One cover is of a fixed density, the tilted one's."""
CORES = "aspen"
"""A line whose light weights have a core of their own."""
MOULD = "shells"
"""A line whose mould is picked by the solver."""
COMPARED = "juniper, juniper-b and yew"
"""Three candidates side by side."""
PAGES = (*LINES, COMPARED)


def report(result: LineupResult) -> Report:
    """The report under test: what the command writes."""
    found = stored(window)(result.scenario) if result.status == "feasible" else None
    return overview(result, window=found)


def page(name: str) -> Report:
    """A page by name."""
    if name != COMPARED:
        return report(line(name))
    names = ("juniper", "juniper-b", "yew")
    return comparison_report(comparison(names, [line(one) for one in names]))


@cache
def line(name: str) -> LineupResult:
    """A line-up by name: some are solved, the others measured at chosen densities."""
    if name == MOULD:
        return solved(SHELLS)
    if name in ("juniper", "juniper-b"):
        return example(name)
    if name == "tilted":
        own, densities = manufactured(np.random.default_rng(3), "off axis", "centre")
        poured = np.round(densities, 4)
        ranges = ((poured[0], poured[0]), *own.ranges[1:])
        text = own.but(limits=LIMITS, ranges=ranges).text()
        read = scenario(text, file="tilted.toml", target_required=True)
    else:
        read = read_scenario(str(FOLDER / f"{name}.toml"), target_required=True)
        poured = None
    figures = frozen([span.low for span in read.target.values()])
    balls = [
        linear_map.ball(_middle(linear_map) if poured is None else poured)
        for linear_map in linear_maps(read)
    ]
    weights = tuple(measured(ball, figures) for ball in balls)
    search = Search(complete=True, starts=0, programs=0, solver="none")
    return LineupResult(
        read, "undecided", tuple(figures.tolist()), weights, None, search, read.warnings
    )


def _middle(one):
    """Return the middle of what may be poured into each part of a weight."""
    return np.array([(pour.low + pour.high) / 2 for pour in one.pours])
