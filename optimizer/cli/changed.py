"""`samespin solve --apply`: the scenario with one of its changes made."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.cli import files, frame
from shared.errors import InputError, Problem

if TYPE_CHECKING:
    from optimizer.studies.diagnosis import Diagnosis


def write_changed(
    found: Diagnosis | None, number: int, path: Path, *, force: bool, as_json: bool
) -> int:
    """Write the scenario with change `number`; return the exit code. Raises InputError for none."""
    remedies = () if found is None else found.remedies
    if not 1 <= number <= len(remedies):
        what = f"there is no change {number} to make"
        instead = f"there are {len(remedies)}" if remedies else "no change is called for, or known"
        raise InputError([Problem(what, instead=instead)])
    files.write({path: remedies[number - 1].text.encode()}, force=force)
    frame.written([path], as_json=as_json)
    if not as_json:
        frame.show((), f"samespin solve {frame.quoted(path)}")
    return frame.DONE
