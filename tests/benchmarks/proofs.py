"""What proofs take beside the solve: to find, and to check; every claim is found to hold."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import partial
from typing import Any

from benchmarks.measuring import ROOT, Section, least, ratio, spent

from optimizer.certificate.claims import outcomes
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.questions.proof.file import proof_file
from optimizer.questions.solve.about import about
from optimizer.questions.solve.evidence import evidence
from optimizer.scenario import read_scenario

NAMES = ("juniper", "juniper-b", "alder", "hawthorn", "larch-metric", "tansy", "two-pours", "yew")
RUNS = 3


def proofs(result: LineupResult) -> bytes:
    """Return the file of the proofs behind a line-up; why there is none is part of the finding."""
    known = about(result, worth=False, second_opinion=False)
    return proof_file(result.scenario, evidence(known))


def checked(data: dict[str, Any]) -> int:
    """Return how many boxes were found empty. Raises SystemExit unless every claim holds."""
    found = list(outcomes(data))
    if any(outcome.wrong for outcome in found):
        raise SystemExit("a proof doesn't hold")
    return sum(outcome.checked.boxes for outcome in found if outcome.checked)


def sections() -> Iterator[Section]:
    """Yield the table."""
    rows = []
    for name in NAMES:
        path = str(ROOT / "scenarios" / f"{name}.toml")
        scenario = read_scenario(path, target_required=True)
        result = solve_lineup(scenario)
        content = proofs(result)
        data = json.loads(content)
        times = least(
            {
                "solve": partial(solve_lineup, scenario),
                "prove": partial(proofs, result),
                "check": partial(checked, data),
            },
            RUNS,
        )
        counts = str(len(data["claims"])), str(checked(data)), f"{len(content) / 1000:.0f} kB"
        spans = (spent(times[way]) for way in ("solve", "prove", "check"))
        rows.append((name, *counts, *spans, ratio(times["check"], times["solve"])))
    columns = ("line", "claims", "boxes", "file", "solve", "prove", "check", "check × solve")
    note = "To prove: also why there is none, and which limits conflict, where there is none."
    yield Section("Proofs beside the solve", columns, rows, note)
