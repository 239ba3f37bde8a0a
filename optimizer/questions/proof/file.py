"""A file of proofs: written with an answer, and read back to be checked."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from optimizer import version
from optimizer.certificate.claims import FORMAT, Outcome, outcomes
from optimizer.certificate.forms import NotProven
from optimizer.lineup.proof.evidence import Evidence
from optimizer.questions.line_up.data import identity
from optimizer.questions.line_up.saved.reading import STRUCTURE
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.source.files import text_of
from optimizer.terminal import frame
from shared.errors import InputError, Problem
from shared.untrusted import MB
from shared.what_if import WhatIf

MOST = 50 * MB
"""The most bytes of a file of proofs."""
VALUES = 2_000_000
"""The most values in it; a hundred weights have some 100,000."""
CLAIMS = 10_000
"""The most claims that are looked at."""
NAMED = ("file", "name", "revision", "sha256")
"""How a file names its scenario."""


@dataclass(frozen=True, eq=False)
class ProofFile:
    """A file of proofs: the scenario that it is about, as it says, and what its claims came to."""

    file: str
    scenario: dict[str, str]
    what_if: WhatIf
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
        "weights": [
            {"label": label, "dimensions": scenario.named(label)} for label in scenario.labels
        ],
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
    text = text_of(path, MOST)
    if sum(map(text.count, STRUCTURE)) > VALUES:
        raise _wrong(path, f"holds more than {VALUES} values")
    try:
        data = json.loads(text)
        every = tuple(islice(outcomes(data), CLAIMS))
    except NotProven as error:
        raise _wrong(path, str(error)) from None
    except (ValueError, RecursionError) as error:
        what = "is nested too deeply" if isinstance(error, RecursionError) else str(error)
        raise _wrong(path, f"is not JSON that --proof wrote ({what})") from None
    if len(data["claims"]) > CLAIMS:
        raise _wrong(path, f"holds more than {CLAIMS} claims")
    told = data.get("scenario")
    known = told if isinstance(told, dict) else {}
    scenario = {key: text for key, text in known.items() if key in NAMED and isinstance(text, str)}
    return ProofFile(path, scenario, WhatIf.read(known.get("what_if")), data, every)


def _wrong(path: str, what: str) -> InputError:
    return InputError([Problem(what, instead="name one that --proof wrote", file=path)])
