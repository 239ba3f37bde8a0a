"""What a command is asked about: a scenario, which is solved, or a solution that was saved."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from optimizer.cli.progress import progress

if TYPE_CHECKING:
    from optimizer.lineup.result import LineupResult
    from optimizer.scenario import Scenario

SAVED: Final = (".json", ".html")
"""Suffixes of files that hold a solution; a report's page does, too."""
X: Final = "A solution (solve -o x.json), a report's page, or a scenario, which is solved first."
"""What such an argument may be, in a help text."""


def lineup(source: str, *, hidden: bool) -> LineupResult:
    """Return a saved solution as measured anew, or a scenario solved; `hidden`: no progress told.

    Raises InputError where the file is wrong.
    """
    if Path(source).suffix.lower() in SAVED:
        from optimizer.report.solution.saved import read_solution

        return read_solution(source)
    from optimizer.scenario import read_scenario

    return _solved(read_scenario(source, target_required=True), hidden=hidden)


def answer(source: str, *, hidden: bool) -> LineupResult:
    """Return the same; where a saved solution has no line-up, it is sought anew, and why not."""
    found = lineup(source, hidden=hidden)
    if found.accepted or found.infeasible is not None:
        return found
    from optimizer.scenario import read_again

    return _solved(read_again(found.scenario.written, {}), hidden=hidden)


def _solved(asked: Scenario, *, hidden: bool) -> LineupResult:
    from optimizer.lineup.pipeline import solve_lineup

    with progress(hidden=hidden) as told:
        return solve_lineup(asked, told)
