"""`samespin schedule`: what the foundry weighs and pours."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer.questions.line_up.saved import sources
from optimizer.terminal import files, frame, options
from optimizer.terminal.reading import reading
from shared.errors import InputError, Problem

if TYPE_CHECKING:
    from optimizer.lineup.result import LineupResult
    from optimizer.paper.document import Report
    from optimizer.questions.schedule.pouring.schedule import Schedule
    from optimizer.questions.schedule.sheet_back.reading import Sheet
    from optimizer.questions.schedule.steps.steps import OnSteps


@reading
def schedule(
    source: Annotated[str, typer.Argument(metavar="X", help=sources.X)],
    *,
    balls: Annotated[
        int | None,
        typer.Option("--balls", min=1, help="How many balls of each weight to weigh out for: 1."),
    ] = None,
    date: Annotated[
        datetime | None,
        typer.Option("--date", formats=["%Y-%m-%d"], help="Date of issue; left out: a blank."),
    ] = None,
    output: options.DrawnOutput = None,
    force: options.Force = False,
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
    proof: options.Proof = None,
    as_json: options.Json = False,
) -> int:
    """Print the density schedule (pour sheet) of a line-up.

    Densities are put on the materials' steps, as near to the targets as is found within a few
    steps, and masses on the scale's; every figure is measured from what is weighed. --proof says
    whether the densities are proven to be the best on these steps.

    A sheet for the line, then one for each weight class: volumes, densities and masses in casting
    order; what lies in the mould, and the force of the liquid on it; the mould, larger by the
    mix's shrinkage; what the next pours of a half-cast ball move by; what to weigh out, with blanks
    for the batch; and the proof. You can work both on a pocket calculator from the printed figures.
    -o writes .csv, .xlsx, .html (to print) or .json.

    A saved solution is measured again before a sheet is printed from it; with -o FILE.dxf its
    moulds are drawn for CAD.

    --verify compares every printed cell of a sheet that went out, but not what is written in its
    blanks. It agrees (exit 0), or each difference is shown (exit 3).
    """
    _check_options(output, verify, proof, excel=excel)
    files.check_output(output, [source], force=force, drawn=True)
    files.check_proof(proof, [source], output, force=force)
    from optimizer.paper.document import Report
    from optimizer.paper.writers.csv_ import MARK
    from optimizer.paper.writers.drawing import mould_drawing
    from optimizer.questions.schedule.casting import held_warnings
    from optimizer.questions.schedule.data import schedule_data
    from optimizer.questions.schedule.page import schedule_blocks
    from optimizer.questions.schedule.sheet_back.reading import read_sheet
    from optimizer.questions.schedule.steps.steps import on_steps

    sheet = None if verify is None else read_sheet(verify)
    result = sources.lineup(source)
    files.check_named(result.scenario, output)
    outcome = on_steps(result) if result.accepted else None
    stepped = result if outcome is None else outcome.lineup
    proofs = _proofs(outcome, proof)
    if not stepped.accepted:
        if proofs:
            files.write(proofs, force=force)
            frame.written(proofs, as_json=False)
        return frame.failed([_refusal(stepped)], frame.EXIT[stepped.status], as_json=as_json)
    document, day = _issued(stepped, sheet, balls, date)
    report = Report(
        schedule_blocks(document, day),
        schedule_data(document, day),
        partial(mould_drawing, stepped),
    )
    if sheet is not None:
        return _verified(sheet, report, result, as_json=as_json)
    paths = files.save(report, output, proofs, force=force, mark=MARK if excel else b"")
    if output is None:
        frame.answer(report, None, paths, as_json=as_json)
    else:
        frame.written(paths, as_json=as_json)
        for warning in held_warnings(document):
            frame.tell(warning)
    return frame.INFEASIBLE if document.too_strong else frame.DONE


def _check_options(
    output: Path | None, verify: Path | None, proof: Path | None, *, excel: bool
) -> None:
    """Refuse options that don't go together."""
    if excel and (output is None or output.suffix.lower() != ".csv"):
        raise typer.BadParameter("is for -o FILE.csv", param_hint="'--excel'")
    if verify is not None and (output is not None or proof is not None):
        other = "-o" if output is not None else "--proof"
        raise typer.BadParameter(
            f"compares, and writes no file: leave {other} out", param_hint="'--verify'"
        )


def _proofs(outcome: OnSteps | None, path: Path | None) -> dict[Path, bytes]:
    """Return the file of proofs, if one is asked for and anything is proven; tell what is known."""
    if path is None or outcome is None:
        return {}
    from optimizer.questions.proof.file import proofs_at
    from optimizer.questions.schedule.evidence import evidence

    every = list(evidence(outcome))
    for what in every:
        if isinstance(what, str):
            frame.tell(what)
    shown = (each for each in every if not isinstance(each, str))
    return proofs_at(path, outcome.lineup.scenario, shown)


def _issued(
    result: LineupResult, sheet: Sheet | None, balls: int | None, date: datetime | None
) -> tuple[Schedule, str | None]:
    """Return the schedule and its date of issue, as of the sheet where one is verified."""
    from optimizer.paper.words import plural
    from optimizer.questions.schedule.page import issued
    from optimizer.questions.schedule.pouring.schedule import schedule as schedule_of

    day = None if date is None else date.date().isoformat()
    many, printed = (1, None) if sheet is None else issued(list(chain(*sheet.readings)))
    if sheet is not None and balls not in {None, many}:
        what = f"is for {plural(many, 'ball')} of a weight, and --balls asks for {balls}"
        instead = "leave --balls out: it says so itself"
        raise InputError([Problem(what, instead=instead, file=str(sheet.path))])
    return schedule_of(result, balls or many), day or printed


def _verified(sheet: Sheet, report: Report, result: LineupResult, *, as_json: bool) -> int:
    """Show whether a sheet that went out is what would be written now; return the exit code."""
    from optimizer.questions.line_up.frame import titled
    from optimizer.questions.schedule.sheet_back.comparing import compared
    from optimizer.questions.schedule.verify import verify_blocks, verify_data

    outcome, path = compared(sheet, report), str(sheet.path)
    if as_json:
        frame.put_json(verify_data(outcome, path))
    else:
        frame.show(verify_blocks(outcome, path, f"the schedule of {titled(result.scenario)}"))
    return frame.DONE if outcome.agrees else frame.INPUT


def _refusal(result: LineupResult) -> Problem:
    """Return why there is no sheet."""
    why = "" if result.infeasible is None else f": {result.infeasible.proof}"
    what = f"no schedule, since the line-up is {result.status}{why}"
    return Problem(what, instead="samespin solve shows the nearest line-up and what stops it")
