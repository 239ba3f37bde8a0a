"""Answers that several tests need, each computed once a run.

Those that a command asks for of the same file are the same.
"""

from __future__ import annotations

from typing import Any

from optimizer_texts import FOLDER, read
from store import stored, told

from optimizer.ball.figures import Figure
from optimizer.lineup.moulds.starts import Starts
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.questions.trade.trade import Trade, trade
from optimizer.questions.why_not.diagnosis import Diagnosis, explained
from optimizer.questions.window.window import Window, window
from optimizer.scenario import Scenario, read_scenario


def shipped_scenario(name: str) -> Scenario:
    """Return a scenario that is shipped, read from its file."""
    return read_scenario(str(FOLDER / f"{name}.toml"), target_required=True)


def solved(text: str, *, exact: bool = False, starts: int = 8) -> LineupResult:
    """Return the line-up of a text that names no files."""
    return stored(solve_lineup)(read(text), Starts(starts), exact=exact)


def example(name: str) -> LineupResult:
    """Return the line-up of a scenario that is shipped."""
    return stored(solve_lineup)(shipped_scenario(name))


def diagnosed(text: str, *, exact: bool = False) -> tuple[LineupResult, Diagnosis | None]:
    """Return the line-up of a text, with what is nearest; and why there is none."""
    return stored(explained)(solved(text, exact=exact))


def reachable(name: str) -> Window:
    """Return the window of a scenario that is shipped."""
    return stored(window)(shipped_scenario(name))


def curve(name: str, figure: Figure) -> Trade:
    """Return what a figure of a shipped scenario's target costs."""
    return stored(trade)(shipped_scenario(name), figure)


@told.register
def _(asked: Figure) -> Any:
    return asked.key


@told.register
def _(asked: Scenario) -> Any:
    ends = [(pour.low, pour.high) for pour in asked.pours]
    return [asked.file, asked.source, asked.files, asked.chosen, ends]


@told.register
def _(result: LineupResult) -> Any:
    densities = [weight_result.ball.densities.tolist() for weight_result in result.weights]
    return [result.scenario, result.status, densities, repr(result.search)]


@told.register
def _(how: Starts) -> Any:
    return [how.count, how.seed]  # whoever does the work, it is the same
