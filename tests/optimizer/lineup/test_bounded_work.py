"""Work that is bounded: counted in programs, rows and measurements, never by the clock."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest
from oracles.lineups import Line

from optimizer.linear.rows import LinearRow
from optimizer.lineup.result import LineupResult
from optimizer.lineup.solve import Rows

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
    some = solved(f"{head}[weights]\n{_weights(6)}\n[materials{rest.split('[materials', 1)[1]}")
    assert some.status == "feasible"
    assert len(some.weights) == 6
    assert max(columns) == 7
