"""A diagnosis is bounded by what its programs come to, and says what it left untried."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from answers import solved
from optimizer_texts import shipped

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Notes
from optimizer.questions.why_not import diagnosis, effort
from optimizer.questions.why_not.changes.remedies import Case
from optimizer.questions.why_not.data import diagnosis_data
from optimizer.questions.why_not.diagnosis import Diagnosis, diagnose
from optimizer.questions.why_not.page import diagnosis_blocks
from shared import activity

ENDED = "ended at its fixed amount of work"


@pytest.fixture(scope="module")
def infeasible() -> LineupResult:
    """Juniper with one cover density for all weights, at an RG that no weight can have."""
    text = shipped("juniper")
    text = text.replace('name     = "cover"', 'same_density = "all"\nname     = "cover"')
    text = text.replace("rg           = 2.550", "rg           = 2.400")
    result = solved(text)
    assert result.status == "infeasible"
    return result


@pytest.fixture
def within(
    infeasible: LineupResult, monkeypatch: pytest.MonkeyPatch
) -> Callable[[int], tuple[Diagnosis, list[str], int]]:
    """Return a function: with so much effort, the diagnosis, what was heard, and the work."""
    solvers, made = list[diagnosis.LinearSolver](), diagnosis.LinearSolver

    def solver() -> diagnosis.LinearSolver:
        solvers.append(made())
        return solvers[-1]

    monkeypatch.setattr(diagnosis, "LinearSolver", solver)

    def diagnosed(most: int) -> tuple[Diagnosis, list[str], int]:
        monkeypatch.setattr(effort, "EFFORT", most)
        heard = list[str]()
        monkeypatch.setattr(activity, "at", lambda what, *_: heard.append(what))
        diagnosis = diagnose(infeasible)
        return diagnosis, heard, solvers[-1].work

    return diagnosed


def _notes(diagnosis: Diagnosis, result: LineupResult) -> str:
    blocks = (b for b in diagnosis_blocks(diagnosis, result) if isinstance(b, Notes))
    return " ".join(line for block in blocks for line in block.lines)


def test_without_any_effort_nothing_is_claimed_and_everything_is_called_untried(infeasible, within):
    diagnosis, _, work = within(0)
    assert work == 0
    assert (
        diagnosis.conflicts
        == diagnosis.remedies
        == diagnosis.not_enough
        == diagnosis.together
        == ()
    )
    assert diagnosis.alone == {}
    assert (diagnosis.common, diagnosis.no_common) == (None, None)
    # besides its numbers, a change may be that the cover is poured as each weight needs it
    assert diagnosis.untried >= len(Case(infeasible, LinearSolver()).moves) > 10
    notes = _notes(diagnosis, infeasible)
    assert ENDED in notes
    assert (
        f"Not all changes were tried: {diagnosis.untried} of {diagnosis.untried} were not" in notes
    )
    assert "Not examined: 16 lb, 15 lb, 14 lb and 13 lb" in notes
    assert diagnosis_data(diagnosis, infeasible)["changes_untried"] == diagnosis.untried


def test_what_is_cut_short_is_told_less_and_never_otherwise(infeasible, within):
    """Each remedy of a short diagnosis is one of the whole one; what it didn't try is counted."""
    whole, heard, spent = within(10**9)
    short, less, work = within(spent // 4)
    assert not whole.ended
    assert whole.untried == 0
    assert ENDED not in _notes(whole, infeasible)
    assert short.ended
    assert short.untried > 0
    status = {remedy.changes: remedy.result.status for remedy in (*whole.remedies, *whole.leaving)}
    assert all(status[remedy.changes] == remedy.result.status for remedy in short.remedies)
    assert {move.path for move in short.not_enough} <= {move.path for move in whole.not_enough}
    assert all(whole.alone[label] is made for label, made in short.alone.items())
    assert work < 0.75 * spent
    assert len(less) < len(heard)
    changes = [what for what in heard if what.startswith("what would do: change ")]
    last = len(changes)
    assert changes == [f"what would do: change {n} of {last}" for n in range(1, last + 1)]


def test_a_conflict_that_was_not_tried_to_its_end_is_proven_but_not_called_minimal(within):
    whole, *_ = within(10**9)
    short, *_ = within(2)
    (all_tried,), (untried,) = whole.conflicts, short.conflicts
    assert all_tried.minimal
    assert untried.proven
    assert not untried.minimal
    assert set(all_tried.claims) <= set(untried.claims)
