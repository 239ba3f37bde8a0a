"""The evidence for all that `solve` calls proven."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import TYPE_CHECKING

from optimizer.lineup.proof.evidence import Evidence
from optimizer.paper.words import listed

if TYPE_CHECKING:
    from optimizer.questions.solve.about import About


def evidence(known: About) -> Iterator[Evidence]:
    """Yield the proofs behind a line-up: that there is none, why, or that none has more room."""
    for group in known.result.groups:
        who = listed(group.lineup.labels)
        proofs = [proof for proof in (group.never_exact, group.never) if proof is not None]
        for proof in {id(proof.shown["none"]): proof for proof in proofs}.values():
            how = "within its tolerances" if any(proof.question["off"]) else "exactly"
            yield proof.called(f"no line-up of {who} meets the target {how}")
    for clash in () if known.diagnosis is None else known.diagnosis.conflicts:
        yield from clash.evidence
    for ceiling in known.ceilings or ():
        if isfinite(ceiling.level):
            who = listed(ceiling.room.lineup.labels)
            what = f"no line-up of {who} has more room than {ceiling.level:.6f} tolerances"
            yield ceiling.room.evidence.called(what)
