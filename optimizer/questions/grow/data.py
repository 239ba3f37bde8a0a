"""What `grow` finds as data: the object that `grow --json` prints, "samespin/growth@1"."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from optimizer import version
from optimizer.questions.explore.candidate import Ends
from optimizer.questions.grow.grown import Grown, Growth
from optimizer.questions.line_up.data import margin_data, measured_data, number, scenario_data
from shared.units import INCH

FORMAT: Final = "samespin/growth@1"


def growth_data(growth: Growth, written: Sequence[Path] = ()) -> dict[str, Any]:
    """Return what was found as JSON types, the best first; each with its scenario's text."""
    return {
        "format": FORMAT,
        "scenario": scenario_data(growth.base.result.scenario),
        "made_by": {"samespin": version()},
        "pours": growth.count if growth.way == "more" else -growth.count,
        "complete": growth.complete,
        "tried": growth.tried,
        "fit": growth.fits,
        "as_drawn": _line(growth, growth.base),
        "lines": [_line(growth, line) for line in growth.each],
        "refused": [{"part": name, "why": why} for name, why in growth.refused],
        "written": [str(path) for path in written],
    }


def _line(growth: Growth, line: Grown) -> dict[str, Any]:
    smallest, reach = line.result.smallest, line.reach
    return {
        "line": line.what,
        "material": line.material or None,
        "status": line.result.status,
        "smallest_margin": smallest and margin_data(smallest),
        "smallest_margin_that_moves": line.room and margin_data(line.room),
        "differential_within_reach_in": _ends(reach.differential) if reach else None,
        "rg_within_reach_in": _ends(reach.rg) if reach else None,
        "reach": reach.certainty if reach else None,
        "pours": line.line.pours if line.accepted else None,
        "moulds": line.line.moulds if line.accepted else None,
        "cost": None if line.cost is None else number(line.cost),
        "good_lines": None if line.good is None else number(line.good),
        "dominated_by": [growth.each.index(other) + 1 for other in growth.above(line)],
        **measured_data(line.result),
        "text": line.text,
    }


def _ends(ends: Ends) -> list[float] | None:
    return None if ends is None else [number(end / INCH) for end in ends]
