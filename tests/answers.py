"""Answers that several tests are about, or need to go on from: each computed once a run."""

from __future__ import annotations

from typing import Any

from optimizer_texts import FOLDER, shipped
from store import stored, told

from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.lineup.starts import Starts
from optimizer.scenario import Scenario, read_scenario, scenario
from optimizer.studies.diagnosis import Diagnosis, explained
from optimizer.studies.trade import Trade, trade
from optimizer.studies.window import Window, window


@stored
def solved(
    text: str, *, file: str = "line.toml", exact: bool = False, starts: int = 8
) -> LineupResult:
    """Return the line-up of a text that names no files."""
    asked = scenario(text, file=file, target_required=True)
    return solve_lineup(asked, Starts(starts), exact=exact)


@stored
def example(name: str) -> LineupResult:
    """Return the line-up of a scenario that is shipped."""
    return solve_lineup(read_scenario(FOLDER / f"{name}.toml", target_required=True))


@stored
def diagnosed(text: str, *, exact: bool = False) -> tuple[LineupResult, Diagnosis | None]:
    """Return the line-up of a text, and why there is none, with what is nearest."""
    return explained(solved(text, exact=exact))


@stored
def reachable(text: str) -> Window:
    """Return the window of a text."""
    return window(scenario(text, file="line.toml", target_required=False))


@stored
def curve(name: str, figure: int) -> Trade:
    """Return what a figure of a shipped scenario's target costs."""
    return trade(scenario(shipped(name), file="line.toml", target_required=True), figure)


@told.register
def _(asked: Scenario) -> Any:
    ends = [(pour.low, pour.high) for pour in asked.pours]
    return [asked.file, asked.source, asked.files, asked.chosen, ends]


@told.register
def _(found: LineupResult) -> Any:
    densities = [one.ball.densities.tolist() for one in found.weights]
    return [found.scenario, found.status, densities, repr(found.search)]


@told.register
def _(how: Starts) -> Any:
    return [how.count, how.seed, repr(how.pool)]
