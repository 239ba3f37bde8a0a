"""`samespin report`: one page to look at, to try densities on, and to check the figures."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer.questions.line_up.saved import sources
from optimizer.terminal import files, frame, options
from optimizer.terminal.reading import reading

if TYPE_CHECKING:
    from optimizer.lineup.result import LineupResult
    from optimizer.questions.window.window import Window


@reading
def report(
    source: Annotated[str, typer.Argument(metavar="X", help=sources.X)],
    *,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o", "--output", metavar="FILE.html", help="The page; left out: X's name and .html."
        ),
    ] = None,
    pictures: options.Pictures = None,
    reach: Annotated[
        bool,
        typer.Option(
            "--reach", help="Also search what is within reach where that takes a minute or more."
        ),
    ] = False,
    force: options.Force = False,
    as_json: options.Json = False,
) -> int:
    """Write the report of a line-up: one HTML file that opens from an e-mail, without a network.

    It shows the balls in section, coloured by density; the RG and differential that each weight can
    reach and all can share; every margin; what each part adds to the ball, and the effect of a
    little more density of it; a panel to try densities by hand; without a line-up, what is short
    and by how much; the proof of each weight, worked for a pocket calculator and computed a second
    way; and the complete inputs.

    Exit codes are those of `solve`: 4 the line-up is infeasible, 6 it is undecided; the page is
    written all the same, and says so.
    """
    page = output or Path(f"{Path(source).stem}.html")
    if page.suffix.lower() != ".html":
        raise typer.BadParameter(f"{page}: name it FILE.html", param_hint="'-o'")
    files.refuse(page, [source], force=force)
    files.check_folder(pictures, force=force)
    from optimizer.questions.report.page import overview
    from optimizer.questions.why_not.diagnosis import explained

    result, diagnosis = explained(sources.lineup(source))
    document = overview(result, diagnosis, _window(result, reach=reach))
    paths = files.save(document, page, files.pictures(document, pictures), force=force)
    frame.written(paths, as_json=as_json)
    return frame.EXIT[result.status]


def _window(result: LineupResult, *, reach: bool) -> Window | None:
    """Return what is within reach; None where it takes a search that is not asked for."""
    from optimizer.questions.window.deciding import decided
    from optimizer.questions.window.window import quick, window

    if not reach and not quick(result.scenario):
        return None
    return replace(decided(window(result.scenario)), answer=result.status)
