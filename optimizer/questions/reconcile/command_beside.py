"""What `samespin reconcile` does beside reading measurements: templates, half-cast balls, files."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.questions.line_up.saved import sources
from optimizer.terminal import files, frame
from shared.errors import InputError, Problem

if TYPE_CHECKING:
    from optimizer.lineup.result import LineupResult
    from optimizer.questions.reconcile.finding import Reconciled
    from optimizer.questions.reconcile.learning.learned import LearnedSpread


def accepted(source: str) -> LineupResult:
    """Return the line-up of X. Raises InputError where it is none."""
    result = sources.lineup(source)
    if not result.accepted:
        what = f"nothing was poured from it: the line-up is {result.status}"
        instead = "samespin solve shows why; --wide takes only its drawing"
        raise InputError([Problem(what, instead=instead, file=source)])
    return result


def write_template(source: str, output: Path | None, *, force: bool, as_json: bool) -> int:
    """Write the file to be filled in, or print it."""
    from optimizer.paper.writers import csv_
    from optimizer.questions.reconcile.measured.template import template

    report = template(accepted(source).scenario)
    if output is not None:
        frame.written(files.save(report, output, force=force), as_json=as_json)
    elif as_json:
        frame.put_json(report.data)
    else:
        sys.stdout.write(csv_.encoded(report).decode())
    return frame.DONE


def tell_half_cast(
    source: str,
    weight: str,
    cast: Sequence[str],
    output: Path | None,
    *,
    force: bool,
    as_json: bool,
) -> int:
    """Tell what to do with a ball that is half cast."""
    from optimizer.paper.document import Report
    from optimizer.questions.reconcile.half_cast.data import half_cast_data
    from optimizer.questions.reconcile.half_cast.half_cast import half_cast
    from optimizer.questions.reconcile.half_cast.page import half_cast_blocks

    result = accepted(source)
    files.check_named(result.scenario, output)
    found = half_cast(result, weight, cast)
    report = Report(tuple(half_cast_blocks(found)), half_cast_data(found))
    frame.answer(report, None, files.save(report, output, force=force), as_json=as_json)
    return frame.EXIT[found.one.status]


def write_learned(
    found: Reconciled,
    spreads: Sequence[LearnedSpread],
    path: Path,
    *,
    force: bool,
    as_json: bool,
) -> int:
    """Write the scenario with the spread that was learned. Raises InputError where none was."""
    from optimizer.questions.reconcile.learning.page import WIDER
    from optimizer.questions.reconcile.learning.text import with_learned

    scenario = found.scenario
    files.check_same_files(scenario, path)
    if not any(each.usable for each in spreads):
        what = "no spread is learned yet, so there is nothing to write"
        raise InputError([Problem(what, instead="without -o, the page says why of each material")])
    files.write({path: with_learned(scenario, spreads).encode()}, force=force)
    if not found.fits:
        frame.tell(f"warning: {WIDER}; without -o, the page names it")
    frame.written([path], as_json=as_json)
    if not as_json:
        frame.show((), f"samespin tolerance {frame.quoted(path)}")
    return frame.DONE
