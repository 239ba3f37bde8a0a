"""`samespin compare`: candidates for a line side by side, and which is better at what."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from optimizer.questions.line_up.saved import sources
from optimizer.terminal import files, frame, options
from optimizer.terminal.reading import reading
from shared import what_if

if TYPE_CHECKING:
    from optimizer.lineup.result import LineupResult
    from optimizer.questions.compare.compare import Comparison

MOST: Final = 8
"""Candidates that have a sign of their own in the pictures."""


@reading
def compare(
    candidates: Annotated[
        list[str],
        typer.Argument(
            metavar="A B …",
            help="Two to eight: solutions (solve -o x.json), reports' pages, or scenarios, which "
            "are solved first. One, with --case or --vary.",
        ),
    ],
    *,
    case: Annotated[
        list[str] | None,
        typer.Option(
            "--case",
            metavar="NAME",
            show_default=False,
            help="A column for this one of the scenario's [cases], or for the file as-written. "
            "Repeat for more.",
        ),
    ] = None,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            "--vary",
            metavar="KEY=VALUE",
            show_default=False,
            help="A column as if the scenario had this value, beside that without it; as --set "
            "does in all columns. Repeat for more.",
        ),
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="Write to FILE; its suffix says the format: .html (with pictures), .csv, .json, "
            ".xlsx.",
        ),
    ] = None,
    pictures: options.Pictures = None,
    force: options.Force = False,
    as_json: options.Json = False,
) -> int:
    """Put candidates for a line side by side, and say which is better at what.

    One scenario is a family: each --case is a column, and each --vary KEY=VALUE another, as if the
    file were written so.

    Shows the figures of each weight, the smallest margins and their limits, how many pours and
    moulds a line takes, the filler in a ball where materials have recipes, its cost where every
    ingredient has a price, and how the input differs from the first candidate's. No candidate is
    called the best: that depends on what counts. Units are those of the first.

    Exit codes: 0 all are feasible or within tolerance; 3 a file is wrong; 4 one is infeasible;
    6 one is undecided.
    """
    columns = _columns(candidates, case or [], vary or [])
    if not 2 <= len(columns) <= MOST:
        what = f"{len(columns)} given: name two to {MOST}"
        raise typer.BadParameter(what, param_hint="'A B …'")
    files.check_output(output, candidates, force=force)
    files.check_folder(pictures, force=force)
    from optimizer.paper.document import Report
    from optimizer.questions.compare.compare import comparison
    from optimizer.questions.compare.data import comparison_data
    from optimizer.questions.compare.page import comparison_blocks, comparison_report

    compared = comparison([source for source, _ in columns], list(map(_lineup, columns)))
    paths: tuple[Path, ...] = ()
    if output is not None or pictures is not None:
        page = comparison_report(compared)
        paths = files.save(page, output, files.pictures(page, pictures), force=force)
    report = Report(comparison_blocks(compared), comparison_data(compared))
    named = " ".join(map(frame.quoted, candidates))
    columned = [f" --case {frame.quoted(name)}" for name in case or []]
    columned += [f" --vary {frame.quoted(text)}" for text in vary or []]
    more = "".join([what_if.asked().options, *columned])
    following = f"samespin compare {named}{more} -o compare.html (with pictures)"
    frame.answer(report, following, paths, as_json=as_json)
    return _exit_code(compared)


def _columns(
    candidates: list[str], cases: list[str], varied: list[str]
) -> list[tuple[str, what_if.WhatIf]]:
    """Return the source of each column, and what is changed in it.

    A case alone stands beside the file as it is written.
    """
    alone = len(cases) == len(candidates) == 1 and not varied
    named: list[str | None] = [*[what_if.AS_WRITTEN] * alone, *cases]
    sets = what_if.asked().sets
    return [
        (source, what_if.WhatIf(case, (*sets, *more)))
        for source in candidates
        for case in named or [None]
        for more in ((), *((text,) for text in varied))
    ]


def _lineup(column: tuple[str, what_if.WhatIf]) -> LineupResult:
    """Return the line-up of a column."""
    source, asked = column
    with what_if.within(asked):
        return sources.lineup(source)


def _exit_code(comparison: Comparison) -> int:
    """Return 4 where a candidate is infeasible, else 6 where one is undecided, else 0."""
    codes = {frame.EXIT[candidate.result.status] for candidate in comparison.candidates}
    return frame.INFEASIBLE if frame.INFEASIBLE in codes else max(codes)
