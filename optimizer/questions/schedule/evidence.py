"""The evidence for what `schedule` calls the best on the steps."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.lineup.proof.evidence import Evidence
from optimizer.paper.words import listed
from optimizer.questions.schedule.steps.group import HELD, SAME
from optimizer.questions.schedule.steps.steps import OnSteps


def evidence(outcome: OnSteps) -> Iterator[Evidence | str]:
    """Yield the proofs of what was found on the steps, and in words what is known of it."""
    for group in outcome.groups:
        who, there = listed(group.labels), f"on the steps within {group.reach} of the line-up"
        none = f"no densities of {who} {there} keep every limit and hold every target"
        found = f"{who}: largest deviation {group.off:.4f} tolerances, the best"
        if proof := group.none_nearer:
            yield proof.called(f"{none} within {group.off - SAME:.6f} tolerances")
            yield group.reached.called(f"densities of {who} that hold them within {group.off:.6f}")
            yield f"{found} {there}: proven"
            continue
        if not group.held and (proof := group.none_held):
            yield proof.called(f"{none} within {HELD:g} tolerance")
        yield f"{found} found {there}: not proven to be the best"
