"""The evidence that some weights have no line-up."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.lineup.proof.evidence import Evidence
from optimizer.lineup.result import LineupResult
from optimizer.paper.words import listed


def no_lineup(result: LineupResult) -> Iterator[Evidence]:
    """Yield the proof for each group of weights that has none, exactly or within tolerance."""
    for group in result.groups:
        who = listed(group.lineup.labels)
        proofs = [proof for proof in (group.never_exact, group.never) if proof is not None]
        for proof in {id(proof.shown["none"]): proof for proof in proofs}.values():
            how = "within its tolerances" if any(proof.question["off"]) else "exactly"
            yield proof.called(f"no line-up of {who} meets the target {how}")
