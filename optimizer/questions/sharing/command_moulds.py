"""`samespin sharing` where dimensions of the mould are open: how few moulds, at what margin."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.terminal import files, frame
from shared.errors import InputError, Problem

if TYPE_CHECKING:
    from optimizer.questions.sharing.mould_sharing import MouldFrontier
    from optimizer.scenario import Scenario

STARTS = 3
"""Starts of each search; every grouping is a search."""


def share_moulds(
    scenario: Scenario, moulds: int | None, output: Path | None, *, force: bool, as_json: bool
) -> int:
    """Search one, two and three moulds; show them, or write the scenario with so many."""
    if not scenario.open:
        what = "no dimension is open, so there is one mould"
        instead = "give a dimension { min = …, max = … } or { one_of = […] }"
        raise InputError([Problem(what, instead=instead, file=scenario.file)])
    from optimizer.lineup.moulds.pools import pool
    from optimizer.lineup.moulds.starts import Starts
    from optimizer.paper.document import Report
    from optimizer.questions.sharing.mould_sharing import mould_frontier
    from optimizer.questions.sharing.moulds_page import moulds_blocks, moulds_data

    frontier = mould_frontier(scenario, Starts(count=STARTS, pool=pool(None)))
    report = Report(moulds_blocks(frontier), moulds_data(frontier))
    new = dict[Path, bytes]()
    if moulds is not None and output is not None:
        point = frontier.with_moulds(moulds)
        if point is None:
            what = f"no line-up with {moulds} moulds was found"
            known = ", ".join(str(len(able.groups)) for able in frontier.able) or "none"
            problem = Problem(what, instead=f"found: {known}")
            return frame.failed([problem], frame.UNDECIDED, as_json=as_json)
        new[output] = point.text.encode()
    paths = files.save(report, None if new else output, new, force=force)
    following = _following(frontier, scenario.file, output if new else None)
    frame.answer(report, following, paths, as_json=as_json)
    return frame.DONE if frontier.able else frame.UNDECIDED


def _following(frontier: MouldFrontier, file: str, new: Path | None) -> str:
    """Return the next command to type: more moulds only where they gain something."""
    best = frontier.best
    if new is not None or best is None or best is frontier.able[0]:
        return f"samespin solve {frame.again(file) if new is None else frame.quoted(new)}"
    return f"samespin sharing {frame.again(file)} --moulds {len(best.groups)} -o NEW.toml"
