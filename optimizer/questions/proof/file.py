"""A file of proofs: written with an answer, and read back to be checked."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from optimizer import version
from optimizer.certificate.claims import FORMAT, Outcome, outcomes
from optimizer.certificate.forms import NotProven
from optimizer.lineup.proof.evidence import Evidence
from optimizer.questions.line_up.data import identity
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.source.files import text_of
from optimizer.terminal import frame
from shared.errors import InputError, Problem
from shared.untrusted import MB

MOST = 50 * MB
"""The most bytes of a file of proofs."""


@dataclass(frozen=True, eq=False)
class ProofFile:
    """A file of proofs: the scenario that it is about, as it says, and what its claims came to."""

    file: str
    scenario: dict[str, Any]
    data: dict[str, Any]
    outcomes: tuple[Outcome, ...]

    @property
    def holds(self) -> bool:
        """Whether every claim was found to be shown."""
        return not any(outcome.wrong for outcome in self.outcomes)


def proof_file(scenario: Scenario, evidence: Iterable[Evidence]) -> bytes:
    """Return the file of these proofs about a scenario."""
    every = list(evidence)
    data = {
        "format": FORMAT,
        "made_by": {"samespin": version()},
        "scenario": {"file": Path(scenario.file).name, **identity(scenario)},
        "balls": {label: ball for each in every for label, ball in each.balls.items()},
        "claims": [each.data for each in every],
    }
    return (json.dumps(data, ensure_ascii=False, separators=(",", ":")) + "\n").encode()


def proofs_at(path: Path, scenario: Scenario, evidence: Iterable[Evidence]) -> dict[Path, bytes]:
    """Return the file of these proofs, to be written at `path`; none, and a word, without any."""
    every = list(evidence)
    if every:
        return {path: proof_file(scenario, every)}
    frame.tell(f"{path} is not written: nothing is proven here")
    return {}


def read_proof(path: str) -> ProofFile:
    """Return a file's proofs, checked. Raises InputError where it is no such file."""
    try:
        data = json.loads(text_of(path, MOST))
        every = tuple(outcomes(data))
    except (NotProven, RecursionError) as error:
        raise InputError([Problem(str(error), file=path)]) from None
    except ValueError as error:
        what = f"is not JSON ({error})"
        raise InputError(
            [Problem(what, instead="name one that --proof wrote", file=path)]
        ) from None
    scenario = data.get("scenario")
    return ProofFile(path, scenario if isinstance(scenario, dict) else {}, data, every)
