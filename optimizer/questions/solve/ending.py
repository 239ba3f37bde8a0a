"""How a solve ends: what is written and told beside the line-up, and its exit code."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.questions.proof.file import proofs_at
from optimizer.questions.solve.evidence import evidence
from optimizer.terminal import files, frame
from shared.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Mapping

    from optimizer.lineup.result import LineupResult
    from optimizer.questions.solve.about import About
    from optimizer.questions.why_not.diagnosis import Diagnosis


def proofs(known: About, path: Path | None) -> Mapping[Path, bytes]:
    """Return the file of proofs, if one is asked for and anything is proven."""
    if path is None:
        return {}
    goal = known.result.goal
    about = known.result.scenario if goal is None else goal.asked
    return proofs_at(path, about, evidence(known))


def code_told(result: LineupResult, fail_under: float | None, *, interrupted: bool) -> int:
    """Return the exit code, and say what the result itself doesn't."""
    if not result.search.complete:
        frame.tell(f"{'interrupted' if interrupted else 'time is up'}: this is the best so far")
    elif interrupted:
        frame.tell("interrupted: this is the line-up, without what else was asked about it")
    if interrupted:
        return frame.Said(frame.INTERRUPTED)
    smallest = result.smallest if result.accepted else None
    least = -math.inf if fail_under is None else fail_under
    if result.accepted and result.goal is not None and result.goal.value is None:
        frame.tell("the number that is sought was not found with the room it is to keep")
        return frame.MARGIN
    if smallest is not None and (smallest.tolerances or 0.0) < least:
        frame.tell(f"the smallest margin is under --fail-under {least:g}")
        return frame.MARGIN
    return frame.EXIT[result.status]


def write_changed(
    diagnosis: Diagnosis | None, number: int, path: Path, *, force: bool, as_json: bool
) -> int:
    """Write the scenario with a change made. Raises InputError for an unknown change."""
    remedies = () if diagnosis is None else diagnosis.remedies
    if not 1 <= number <= len(remedies):
        what = f"there is no change {number} to make"
        instead = f"there are {len(remedies)}" if remedies else "no change is called for, or known"
        raise InputError([Problem(what, instead=instead)])
    files.write({path: remedies[number - 1].text.encode()}, force=force)
    frame.written([path], as_json=as_json)
    if not as_json:
        frame.show((), f"samespin solve {frame.quoted(path)}")
    return frame.DONE


def following(
    result: LineupResult, source: str, diagnosis: Diagnosis | None, *, unsaved: bool
) -> str:
    """Return the next command, on `source` as typed.

    An `unsaved` drawing would be another if solved anew.
    """
    if unsaved:
        return f"samespin solve {source} --for good-share -o NEW.json"
    if diagnosis is not None and diagnosis.remedies:
        return f"samespin solve {frame.again(result.scenario.file)} --apply 1 -o NEW.toml"
    if result.accepted:
        return f"samespin schedule {source}"
    return f"samespin check {frame.again(result.scenario.file)} (volumes, walls, what is free)"
