"""`samespin schedule`: what the foundry weighs and pours."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer.cli import files, frame
from optimizer.cli.progress import progress
from optimizer.cli.solve import exit_code
from shared.errors import Problem

if TYPE_CHECKING:
    from optimizer.lineup.result import LineupResult


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("schedule", short_help="Print what the foundry weighs and pours (pour sheet).")(
        schedule
    )


def schedule(
    source: Annotated[
        str,
        typer.Argument(
            metavar="X", help="A solution (solve -o x.json) or a scenario, which is solved first."
        ),
    ],
    *,
    balls: Annotated[
        int, typer.Option("--balls", min=1, help="How many balls of each weight to weigh out for.")
    ] = 1,
    date: Annotated[
        str | None,
        typer.Option("--date", metavar="YYYY-MM-DD", help="Date of issue; left out: a blank."),
    ] = None,
    output: frame.Output = None,
    force: frame.Force = False,
    as_json: frame.Json = False,
) -> int:
    """Print the density schedule (pour sheet) of a line-up.

    For each weight class the parts in casting order with volume, density and its tolerance, mass
    and running mass against the class weight; blanks for the batch; and the proof: moments,
    parallel-axis terms, sums and RGs that a pocket calculator comes to from the printed figures.

    A saved solution is measured again before a sheet is printed from it; with -o FILE.dxf its
    moulds are drawn for CAD.
    """
    files.check_output(output, force=force, drawn=True)
    from optimizer.foundry.schedule import schedule as schedule_of
    from optimizer.foundry.steps import on_steps
    from optimizer.report.document import Report
    from optimizer.report.drawing import mould_drawing
    from optimizer.report.schedule_data import schedule_data
    from optimizer.report.schedule_page import Issue, schedule_blocks

    result = _result(source, hidden=as_json)
    code = exit_code(result)
    if code != frame.DONE:
        return frame.failed([_refusal(result)], code, as_json=as_json)
    stepped = on_steps(result).lineup
    code = exit_code(stepped)
    if code != frame.DONE:
        return frame.failed([_refusal(stepped)], code, as_json=as_json)
    told = schedule_of(stepped, balls)
    report = Report(
        schedule_blocks(told, Issue(date)), schedule_data(told), partial(mould_drawing, result)
    )
    if output is not None:
        files.write_report(report, output, force=force)
        frame.written([output], as_json=as_json)
    elif as_json:
        frame.put_json(report.data)
    else:
        frame.show(report.blocks)
    return frame.INFEASIBLE if told.too_strong else frame.DONE


def _result(source: str, *, hidden: bool) -> LineupResult:
    """Return a saved solution as measured anew, or a scenario solved."""
    if Path(source).suffix.lower() == ".json":
        from optimizer.report.saved import read_solution

        return read_solution(source)
    from optimizer.lineup.pipeline import solve_lineup
    from optimizer.scenario import read_scenario

    scenario = read_scenario(source, target_required=True)
    with progress(hidden=hidden) as told:
        return solve_lineup(scenario, told)


def _refusal(result: LineupResult) -> Problem:
    """Return why there is no sheet to pour from."""
    if result.status == "infeasible":
        proof = "" if result.infeasible is None else f": {result.infeasible.proof}"
        what = f"no schedule, since the line-up is infeasible{proof}"
    else:
        why = "" if result.infeasible is None else f": {result.infeasible.proof}"
        what = f"no schedule, since the line-up is undecided{why}"
    return Problem(what, instead="samespin solve shows the nearest line-up and what stops it")
