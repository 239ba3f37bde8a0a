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
        who = listed(ceiling.relaxation.lineup.labels)
        if ceiling.within and ceiling.level > 0.0:
            what = f"no line-up of {who} misses every target by less than {ceiling.level:.6f}"
            yield ceiling.relaxation.evidence.called(f"{what} tolerances")
        elif not ceiling.within and isfinite(ceiling.level):
            what = f"no line-up of {who} has more room than {ceiling.level:.6f} tolerances"
            yield ceiling.relaxation.evidence.called(what)
