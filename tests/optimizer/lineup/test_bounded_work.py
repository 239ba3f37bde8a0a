"""Work that is bounded: counted in programs, rows and measurements, never by the clock."""

from __future__ import annotations

import weakref
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from optimizer_texts import FOLDER
from oracles.lineups import Line

from optimizer.ball.linear_rows import LinearRow
from optimizer.lineup.engine.climbing import PASSES, Engine, Peak
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.engine.search import best_found
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.scenario import read_scenario, scenario
from shared import activity
from shared.errors import InputError

Solved = Callable[[Line | str], LineupResult]


def _weights(count: int) -> str:
    return "\n".join(f'"{k}" = {16.0 - 3.0 * k / count:.4f}' for k in range(count))


def test_weights_that_nothing_couples_are_never_in_one_program(
    solved: Solved, juniper: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Juniper's parts are five, and its target has two figures: seven columns for any weight."""
    columns, stacked = set[int](), Rows.of

    def counted(rows: Sequence[LinearRow]) -> Rows:
        columns.add(len(rows[0].coefficients))
        return stacked(rows)

    monkeypatch.setattr(Rows, "of", counted)
    head, rest = juniper.split("[weights]")
    result = solved(f"{head}[weights]\n{_weights(6)}\n[materials{rest.split('[materials', 1)[1]}")
    assert result.status == "feasible"
    assert len(result.weights) == 6
    assert max(columns) == 7


def test_a_rank_is_asked_for_only_where_there_are_rows_enough_for_it(
    solved: Solved, juniper: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Fewer rows than columns leave a choice, whatever their rank: no decomposition is needed."""
    shapes, rank = list[tuple[int, ...]](), np.linalg.matrix_rank

    def counted(matrix: np.ndarray, tol: float) -> int:
        shapes.append(matrix.shape)
        return int(rank(matrix, tol=tol))

    monkeypatch.setattr(np.linalg, "matrix_rank", counted)
    shared = 'name     = "cover"\nsame_density = "all"'
    assert solved(juniper.replace('name     = "cover"', shared)).status == "feasible"
    assert shapes
    assert all(rows >= columns for rows, columns in shapes)


def test_no_more_than_the_best_climb_is_kept(lineup, juniper: str) -> None:
    """Peaks hold their rows, which for many weights are most of the memory."""
    one, solver, alive = lineup(juniper), LinearSolver(), list[int]()
    peaks = weakref.WeakSet[Peak]()
    climb = Engine.climb

    def watched(self: Engine, x: np.ndarray, rows: Rows | None = None) -> Peak:
        peak = climb(self, x, rows)
        peaks.add(peak)
        return peak

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Engine, "climb", watched)
        rounds = [[(one.columns.middle, None)] * 5]
        patch.setattr(activity, "at", lambda *_: alive.append(len(peaks)))
        best_found(one, solver, rounds)
    assert len(alive) == 5 + 1  # a climb each, and evening out
    assert max(alive) <= 2


@pytest.mark.parametrize("name", ["larch-metric", "holly", "juniper-b"])
def test_a_climb_ends_where_the_solver_can_tell_no_step_from_none(name: str) -> None:
    """A trust region narrower than the solver's tolerance does not narrow the step any more.

    Each of these lines has margins that meet in a kink: there every climb that is stuck took all
    of its passes. 70 programs, some of them a proof's, are a third of them.
    """
    assert PASSES > 2.8 * 70
    asked = read_scenario(FOLDER / f"{name}.toml", target_required=True)
    assert solve_lineup(asked).search.programs < 70


def test_more_than_one_program_can_hold_is_refused_before_anything_is_solved(
    juniper: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """101 weights of Juniper's five parts with one cover density: 101 × 4 + 1 = 405 densities.

    Each with its own cover they are 101 programs of five, and no trouble.
    """
    head, rest = juniper.split("[weights]")
    many = f"{head}[weights]\n{_weights(101)}\n[materials{rest.split('[materials', 1)[1]}"
    tied = many.replace('name     = "cover"', 'name     = "cover"\nsame_density = "all"')
    runs = list[int]()
    monkeypatch.setattr(LinearSolver, "best", lambda *_others: runs.append(1))
    with pytest.raises(InputError) as refused:
        solve_lineup(scenario(tied, file="line.toml", target_required=True))
    assert "405 densities of 101 weights" in str(refused.value)
    assert "split the line into several files" in str(refused.value)
    assert not runs
    monkeypatch.undo()
    assert len(solve_lineup(scenario(many, file="line.toml", target_required=True)).weights) == 101


def test_while_it_is_solved_it_is_told_which_group_and_start_of_how_many(
    juniper: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A core that is the same about x and y has three choices of axes, one with the pin low.

    Besides, there are the two sides that the CG may lean to, and twelve starts at random.
    """
    heard = dict[str, None]()
    asked = scenario(juniper, file="line.toml", target_required=True)
    monkeypatch.setattr(activity, "at", lambda what, *_: heard.update({what: None}))
    solve_lineup(asked)
    labels = [class_drawing.label for class_drawing in asked.classes]
    most = 1 + 2 + 2 + 12
    assert list(heard) == [
        said
        for n, one in enumerate(labels, 1)
        for said in (
            f"solving group {n} of {len(labels)}",
            f"{one}, start 1 of at most {most}",
            f"{one}, margins being evened out",
        )
    ]
