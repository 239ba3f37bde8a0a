"""The evidence for all that `sharing` calls proven."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.lineup.proof.evidence import Evidence
from optimizer.questions.proof.no_lineup import no_lineup
from optimizer.questions.sharing.sharing import Frontier


def evidence(frontier: Frontier) -> Iterator[Evidence]:
    """Yield the proof of how many pours are needed; or that the target can't be met exactly."""
    if frontier.fewest is not None:
        yield frontier.fewest.proof
    elif not frontier.own.found:
        yield from no_lineup(frontier.own.result)
