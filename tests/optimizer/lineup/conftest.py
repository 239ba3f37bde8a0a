"""From an oracle's line, or a scenario's text, to what the line-up package makes of it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from optimizer_texts import plain_juniper, read
from oracles.lineups import Line

from optimizer.lineup.columns import columns
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.scenario import linear_maps


def _text(line: Line | str) -> str:
    return line if isinstance(line, str) else line.text()


def _lineup(line: Line | str) -> Lineup:
    some = read(_text(line))
    maps = linear_maps(some)
    return Lineup(maps, columns(maps, some.sharing))


def _solved(line: Line | str) -> LineupResult:
    return solve_lineup(read(_text(line)))


@pytest.fixture(scope="session")
def lineup() -> Callable[[Line | str], Lineup]:
    """Return a function that reads a line: all weights, solved together or not."""
    return _lineup


@pytest.fixture(scope="session")
def solved() -> Callable[[Line | str], LineupResult]:
    """Return a function that solves a line."""
    return _solved


@pytest.fixture(scope="session")
def juniper() -> str:
    """Return the text of the example, at the differential and ranges that figures are known for."""
    return plain_juniper().replace("= 0.040 ", "= 0.042 ")
