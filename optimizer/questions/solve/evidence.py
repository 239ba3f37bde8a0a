"""The evidence for all that `solve` calls proven."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import TYPE_CHECKING

from optimizer.lineup.proof.evidence import Evidence
from optimizer.paper.words import listed
from optimizer.questions.line_up.goal_words import farthest_words
from optimizer.questions.proof.no_lineup import no_lineup

if TYPE_CHECKING:
    from optimizer.questions.solve.about import About


def evidence(known: About) -> Iterator[Evidence]:
    """Yield the proofs behind a line-up: that there is none, why, or that none has more room."""
    yield from no_lineup(known.result)
    for clash in () if known.diagnosis is None else known.diagnosis.conflicts:
        yield from clash.evidence
    far, goal = known.farthest, known.result.goal
    if far is not None and far.relaxation is not None and goal is not None:
        what = farthest_words(goal, far)[0].removeprefix("proven: with this mould ")
        yield far.relaxation.evidence.called(what)
    for ceiling in known.ceilings or ():
        who = listed(ceiling.relaxation.lineup.labels)
        if ceiling.within and ceiling.level > 0.0:
            what = f"no line-up of {who} misses every target by less than {ceiling.level:.6f}"
            yield ceiling.relaxation.evidence.called(f"{what} tolerances")
        elif not ceiling.within and isfinite(ceiling.level):
            what = f"no line-up of {who} has more room than {ceiling.level:.6f} tolerances"
            yield ceiling.relaxation.evidence.called(what)
