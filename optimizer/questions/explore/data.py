"""An exploration as data: the object that `explore --json` prints, "samespin/explore@1"."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from optimizer import version
from optimizer.questions.explore.page import starts
from optimizer.questions.explore.row import CandidateRow
from optimizer.questions.explore.summary import Summary
from optimizer.questions.explore.table import Table
from optimizer.questions.line_up.data import scenario_data

FORMAT: Final = "samespin/explore@1"


def explore_data(table: Table, summary: Summary, written: list[Path]) -> dict[str, Any]:
    """Return the summary as JSON types; dimensions are in the scenario's unit of length."""
    return {
        "format": FORMAT,
        "scenario": scenario_data(table.asked),
        "made_by": {"samespin": version()},
        "seed": table.seed,
        "candidates": summary.count,
        "statuses": dict(summary.statuses),
        "reaches": {key: count for key, count in summary.reaches.items() if key},
        "as_drawn": None if summary.as_drawn is None else _row(table, summary.as_drawn),
        "best": [_row(table, row) for row in summary.best],
        "best_tenth": {
            "candidates": len(summary.tenth),
            "of": summary.measured,
            "ranges": _ranges(table, summary),
        },
        "starts": list(starts(table, summary.best[0])) if summary.best else [],
        "written": [str(path) for path in written],
    }


def _row(table: Table, row: CandidateRow) -> dict[str, Any]:
    return {
        "candidate": row.number,
        "dimensions": dict(zip(table.names, row.values, strict=True)),
        "status": row.status,
        "margin_tolerances": row.margin,
        "off_target_tolerances": row.off,
        "limit": row.limit or None,
        "weight": row.weight or None,
        "part": row.part or None,
        "differential_within_reach_in": row.differential,
        "rg_within_reach_in": row.rg,
        "reach": row.reach or None,
    }


def _ranges(table: Table, summary: Summary) -> Mapping[str, list[float]]:
    every = zip(*(row.values for row in summary.tenth), strict=True)
    return {
        name: [min(values), max(values)] for name, values in zip(table.names, every, strict=False)
    }
