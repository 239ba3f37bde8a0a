"""The line-up that a command is about: a scenario, which is solved, or a saved solution."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from optimizer.terminal import frame
from shared import what_if
from shared.errors import InputError, Problem

if TYPE_CHECKING:
    from optimizer.lineup.result import LineupResult
    from optimizer.scenario import Scenario

SAVED: Final = (".json", ".html")
"""Suffixes of files that hold a solution, a report's page among them."""
X: Final = "A solution (solve -o x.json), a report's page, or a scenario, which is solved first."
"""Help text of the argument."""


def lineup(source: str) -> LineupResult:
    """Return a saved solution, measured anew, or a scenario solved.

    A file can't prove that there is no line-up: one that says so is solved again. So is one whose
    scenario is to be changed. Raises InputError where a file is wrong.
    """
    from optimizer.scenario import read_again, read_changed, read_scenario

    if Path(source).suffix.lower() not in SAVED:
        return _solved(read_scenario(source, target_required=True))
    from optimizer.questions.line_up.saved.reading import read_solution

    saved = read_solution(source)
    if what_if.asked():
        changed = read_changed(saved.scenario.written)
        frame.tell(f"{source}: solved anew, since its scenario is changed")
        return _solved(changed, exact=saved.exact)
    if saved.accepted:
        if not saved.search.complete:
            frame.tell(
                f"{source}: the search for its mould was interrupted: a better one may exist"
            )
        return saved
    asked = read_again(saved.scenario.written, {})
    result = _solved(asked, exact=saved.exact)
    if saved.status == "infeasible" != result.status:
        what = f'is called "infeasible", and solved anew it is "{result.status}"'
        raise InputError([Problem(what, instead="solve again", file=source)])
    return result


def drawn(source: str) -> Scenario:
    """Return the scenario of a saved solution, changed as asked."""
    from optimizer.questions.line_up.saved.reading import read_solution
    from optimizer.scenario import read_changed

    saved = read_solution(source).scenario
    return read_changed(saved.written) if what_if.asked() else saved


def _solved(asked: Scenario, *, exact: bool = False) -> LineupResult:
    from optimizer.lineup.moulds.pools import pool
    from optimizer.lineup.moulds.starts import Starts
    from optimizer.lineup.pipeline import solve_lineup

    return solve_lineup(asked, Starts(pool=pool(None)), exact=exact)
