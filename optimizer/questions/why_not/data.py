"""A diagnosis as data: what the key "infeasible" of a solution holds of it."""

from __future__ import annotations

from typing import Any

from optimizer.lineup.result import LineupResult
from optimizer.paper.quantities import FIXED_UNITS
from optimizer.questions.line_up.data import number
from optimizer.questions.why_not.changes.changes import Change
from optimizer.questions.why_not.changes.remedies import Remedy
from optimizer.questions.why_not.conflict import Conflict
from optimizer.questions.why_not.diagnosis import Diagnosis
from optimizer.questions.why_not.words import change_place, claim_line, claim_place
from optimizer.scenario import Scenario


def diagnosis_data(diagnosis: Diagnosis, result: LineupResult) -> dict[str, Any]:
    """Return what the key "infeasible" of a solution holds, besides the nearest line-up."""
    conflicts = [_conflict_data(conflict, result) for conflict in diagnosis.conflicts]
    remedies = [_remedy_data(remedy, result.scenario) for remedy in diagnosis.remedies]
    not_enough = []
    for move in diagnosis.not_enough:
        unit, factor = FIXED_UNITS[move.quantity]
        ends = {"from": number(move.value / factor), "to": None}
        not_enough.append({"limit": move.name, "about": move.about, **ends, "unit": unit or None})
    return {
        "conflict": conflicts[0] if conflicts else None,
        "conflicts": conflicts,
        "conflict_is_minimal": [conflict.minimal for conflict in diagnosis.conflicts],
        "conflict_is_proven": [conflict.proven for conflict in diagnosis.conflicts],
        "remedies": [*(changes[0] for changes in remedies if len(changes) == 1), *not_enough],
        "pairs": [changes for changes in remedies if len(changes) > 1],
        "shared_target": None
        if diagnosis.common is None
        else _remedy_data(diagnosis.common, result.scenario),
        "no_shared_target_proven": diagnosis.no_common is True,
        "alone": dict(diagnosis.alone),
        "changes_untried": diagnosis.untried,
        "together": list(diagnosis.together),
    }


def _conflict_data(conflict: Conflict, result: LineupResult) -> list[dict[str, Any]]:
    """Return the members of a conflict as JSON types: name, part, weight, line of the file."""
    return [
        {
            "limit": claim.words,
            "part": list(claim.of) if isinstance(claim.of, tuple) else claim.of,
            "weight": claim.weight or (conflict.weights[0] if len(conflict.weights) == 1 else None),
            "line": claim_place(claim, result.scenario),
            "words": claim_line(claim, result),
        }
        for claim in conflict.claims
    ]


def _remedy_data(remedy: Remedy, asked: Scenario) -> list[dict[str, Any]]:
    """Return the changes of a remedy, each with the rules that they leave."""
    outcome = {
        "status": remedy.result.status,
        "outside_rules": sorted({margin.words for margin in remedy.left}),
    }
    return [_change_data(change, asked) | outcome for change in remedy.changes]


def _change_data(change: Change, asked: Scenario) -> dict[str, Any]:
    """Return a change in the scenario's own unit, which it names."""
    return {
        "limit": change.name,
        "about": change.about,
        "from": change.value,
        "to": change.to,
        "unit": change.unit or None,
        "tolerances": change.tolerances,
        "line": change_place(change, asked),
    }
