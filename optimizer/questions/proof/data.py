"""A checked file of proofs as data: the object that `proof --json` prints."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from optimizer.certificate.claims import Outcome
from optimizer.questions.line_up.data import number
from optimizer.questions.proof.file import ProofFile
from optimizer.questions.proof.page import numbers

FORMAT: Final = "samespin/checked-proof@1"


def proof_data(proof: ProofFile, differing: Sequence[str] | None) -> dict[str, Any]:
    """Return what was found, as JSON types; "differing" is null where nothing was compared."""
    return {
        "format": FORMAT,
        "scenario": proof.scenario | {"what_if": proof.what_if.data},
        "holds": proof.holds,
        "differing": None if differing is None else list(differing),
        "claims": [_claim(proof, outcome) for outcome in proof.outcomes],
    }


def _claim(proof: ProofFile, outcome: Outcome) -> dict[str, Any]:
    checked, balls = outcome.checked, outcome.figures
    return {
        "about": outcome.about,
        "weights": list(outcome.balls),
        "shown": outcome.wrong is None,
        "wrong": outcome.wrong,
        "line_up": None if outcome.wrong is not None else balls is not None,
        "boxes": None if checked is None else checked.boxes,
        "pours": None
        if outcome.fewest is None
        else {"at_least": outcome.fewest.pours, "exist": outcome.fewest.found},
        "rows": None if checked is None else checked.rows,
        "figures": None
        if balls is None
        else [
            {"mass_g": number(float(b.mass)), "rgs_cm": [number(float(r)) for r in b.radii]}
            for b in balls
        ],
        "numbers": list(numbers(proof, outcome)),
    }
