"""`samespin tolerance`: what the foundry's spread does to weight, RG and differential."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from optimizer.questions.line_up.saved import sources
from optimizer.terminal import files, frame, options
from optimizer.terminal.reading import reading
from shared.errors import Problem

if TYPE_CHECKING:
    from optimizer.lineup.result import LineupResult
    from optimizer.paper.document import Block


@reading
def tolerance(
    source: Annotated[str, typer.Argument(metavar="X", help=sources.X)],
    *,
    share: Annotated[
        float | None,
        typer.Option(
            "--share",
            metavar="S",
            help="Also find the tolerances of least cost with which this share of the balls is "
            "good, such as 0.9; in a file, with the cost of other shares.",
        ),
    ] = None,
    weighed: Annotated[
        bool,
        typer.Option(
            "--weighed",
            help="Also tell what is gained where each casting is weighed before the next pour.",
        ),
    ] = False,
    output: options.Output = None,
    pictures: options.Pictures = None,
    force: options.Force = False,
    as_json: options.Json = False,
) -> int:
    """Show what the shop's spread does: the share of good balls, and what drives it.

    A good ball is one whose weight, low RG and differential (and intermediate differential and CG
    offset, where they are asked for) lie within the target's tolerances, and which keeps the
    rulebook. What varies is said in [spread]: densities from batch to batch and within a batch,
    position and tilt of parts, dimensions of the mould, the turned diameter and its centre, the
    scale. Where it says nothing, densities vary by the declared ± of their materials, and the rest
    is held, listed, and tried as it usually varies.

    A million balls of each weight are simulated, the same in every run, and beside them the answer
    to first order. -o writes a page to print (.html), or .json, .csv, .xlsx.

    Exit codes: 0 done; 3 the file is wrong; 4 the line-up is infeasible, 6 undecided: there is no
    ball to spread.
    """
    files.check_output(output, [source], force=force)
    files.check_folder(pictures, force=force)
    from optimizer.paper.document import Report
    from optimizer.questions.tolerance.data import tolerance_data
    from optimizer.questions.tolerance.finding import line_spread
    from optimizer.questions.tolerance.page import tolerance_blocks

    result = sources.lineup(source)
    files.check_named(result.scenario, output)
    if not result.accepted:
        what = f"there is no ball to spread: the line-up is {result.status}"
        problem = Problem(what, instead="samespin solve shows the nearest one and what stops it")
        return frame.failed([problem], frame.EXIT[result.status], as_json=as_json)
    more, data = _more(result, share, weighed=weighed, whole=bool(output or pictures))
    found = line_spread(result)
    data = tolerance_data(found) | data
    whole = Report(tolerance_blocks(found, more, whole=True), data)
    paths = files.save(whole, output, files.pictures(whole, pictures), force=force)
    report = Report(tolerance_blocks(found, more), data)
    following = f"samespin schedule {frame.again(source)}"
    frame.answer(report, following, paths, as_json=as_json)
    return frame.DONE


def _more(
    result: LineupResult, share: float | None, *, weighed: bool, whole: bool
) -> tuple[list[Block], dict[str, Any]]:
    """Return what else is asked for: its blocks and its data."""
    blocks: list[Block] = []
    data: dict[str, Any] = {}
    if share is not None:
        from optimizer.questions.tolerance.allocation import allocated, cost_curve
        from optimizer.questions.tolerance.allocation_page import (
            allocation_blocks,
            allocation_data,
        )

        allocation = allocated(result, share)
        curve = cost_curve(result) if whole else ()
        blocks += allocation_blocks(result, allocation, curve)
        data["allocation"] = allocation_data(allocation, curve)
    if weighed:
        from optimizer.questions.line_up.page import class_names
        from optimizer.questions.tolerance.weighing import weighed as outcome
        from optimizer.questions.tolerance.weighing_page import weighing_blocks, weighing_data

        weighing = outcome(result)
        blocks += weighing_blocks(weighing, class_names(result))
        data["weighing"] = weighing_data(weighing)
    return blocks, data
