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
    from optimizer.report.document import Report
    from optimizer.report.sheet_read import Sheet


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
    output: frame.Output = None,
    force: frame.Force = False,
    excel: Annotated[
        bool,
        typer.Option("--excel", help="Begin a .csv with the mark that tells Excel it is UTF-8."),
    ] = False,
    verify: Annotated[
        Path | None,
        typer.Option(
            "--verify",
            metavar="SHEET",
            help="Compare SHEET, a .csv or .xlsx that was written before, with what would be "
            "written now.",
        ),
    ] = None,
    as_json: frame.Json = False,
) -> int:
    """Print the density schedule (pour sheet) of a line-up.

    For each weight class the parts in casting order with volume, density and its tolerance, mass
    and running mass against the class weight; blanks for the batch; and the proof: moments,
    parallel-axis terms, sums and RGs that a pocket calculator comes to from the printed figures.

    A saved solution is measured again before a sheet is printed from it; with -o FILE.dxf its
    moulds are drawn for CAD.

    With --verify every printed cell of a sheet that went out is compared; what is written in its
    blanks is not. It agrees (exit 0), or each difference is told (exit 3).
    """
    _check_options(output, verify, excel=excel)
    files.check_output(output, force=force, drawn=True)
    from optimizer.report.csv_ import MARK
    from optimizer.report.sheet_read import read_sheet

    sheet = None if verify is None else read_sheet(verify)
    result = _result(source, hidden=as_json)
    code = exit_code(result)
    if code != frame.DONE:
        return frame.failed([_refusal(result)], code, as_json=as_json)
    report = _report(result)
    if sheet is not None:
        return _verified(sheet, report, result, as_json=as_json)
    if output is not None:
        files.write_report(report, output, force=force, mark=MARK if excel else b"")
        frame.written([output], as_json=as_json)
    elif as_json:
        frame.put_json(report.data)
    else:
        frame.show(report.blocks)
    return frame.DONE


def _check_options(output: Path | None, verify: Path | None, *, excel: bool) -> None:
    """Refuse options that don't go together."""
    if excel and (output is None or output.suffix.lower() != ".csv"):
        raise typer.BadParameter("is for -o FILE.csv", param_hint="'--excel'")
    if verify is not None and output is not None:
        raise typer.BadParameter(
            "compares, and writes no file: leave -o out", param_hint="'--verify'"
        )


def _report(result: LineupResult) -> Report:
    """Return the whole document of a line-up: what is shown, written, and compared."""
    from optimizer.report.document import Report
    from optimizer.report.drawing import mould_drawing
    from optimizer.report.schedule_data import schedule_data
    from optimizer.report.schedule_page import schedule_blocks

    return Report(schedule_blocks(result), schedule_data(result), partial(mould_drawing, result))


def _verified(sheet: Sheet, report: Report, result: LineupResult, *, as_json: bool) -> int:
    """Say whether a sheet that went out is what would be written now, and return the exit code."""
    from optimizer.report.sheet_back import compared
    from optimizer.report.verify_page import verify_blocks, verify_data

    found, scenario = compared(sheet, report), result.scenario
    path = str(sheet.path)
    if as_json:
        frame.put_json(verify_data(found, path))
    else:
        document = f"the schedule of {scenario.name}, revision {scenario.revision}"
        frame.show(verify_blocks(found, path, document))
    return frame.DONE if found.agrees else frame.INPUT


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
        what = "no schedule, since the line-up is undecided: neither found nor proven impossible"
    return Problem(what, instead="samespin solve shows the nearest line-up and what stops it")
