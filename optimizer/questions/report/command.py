"""`samespin report`: one page to look at, to try densities on, and to check the figures by."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer.questions.line_up.saved import sources
from optimizer.terminal import files, frame

if TYPE_CHECKING:
    from optimizer.lineup.result import LineupResult
    from optimizer.paper.document import Report
    from optimizer.questions.window.window import Window


def report(
    source: Annotated[str, typer.Argument(metavar="X", help=sources.X)],
    *,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o", "--output", metavar="FILE.html", help="The page; left out: X's name and .html."
        ),
    ] = None,
    pictures: frame.Pictures = None,
    reach: Annotated[
        bool,
        typer.Option(
            "--reach", help="Search what is within reach where it takes a minute or more, too."
        ),
    ] = False,
    force: frame.Force = False,
    as_json: frame.Json = False,
) -> int:
    """Write the report of a line-up: one HTML file that opens from an e-mail, without a network.

    On it: the balls in section, filled by density; what RG and differential each weight can reach
    and all can share; every margin; what a little more density of each part would do; a panel to
    try densities by hand; where there is no line-up, what is short by how much; the proof of each
    weight, worked for a pocket calculator and computed a second way; and the inputs, complete.

    Exit codes are those of `solve`: 4 where the line-up is infeasible, 6 where it is undecided; the
    page is written all the same, and says so.
    """
    page = output or Path(f"{Path(source).stem}.html")
    if page.suffix.lower() != ".html":
        raise typer.BadParameter(f"{page}: name it FILE.html", param_hint="'-o'")
    files.refuse(page, [source], force=force)
    files.check_folder(pictures, force=force)
    result, told = _told(source, reach=reach)
    paths = files.save(told, page, files.pictures(told, pictures), force=force)
    frame.written(paths, as_json=as_json)
    return frame.EXIT[result.status]


def _told(source: str, *, reach: bool) -> tuple[LineupResult, Report]:
    """Return the result, and all that is said of it on the page."""
    from optimizer.questions.report.page import Overview, overview
    from optimizer.questions.why_not.diagnosis import explained

    result = sources.lineup(source)
    result, diagnosis = explained(result)
    return result, overview(Overview(result, diagnosis, _window(result, reach=reach)))


def _window(result: LineupResult, *, reach: bool) -> Window | None:
    """Return what is within reach; None where it takes a search, and is not asked for."""
    from optimizer.questions.window.window import quick, window

    if not reach and not quick(result.scenario):
        return None
    return replace(window(result.scenario), answer=result.status)
