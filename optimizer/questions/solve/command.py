"""`samespin solve`: the line-up, or why there is none."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Annotated

import typer

from optimizer.questions.solve.sought import sought_of
from optimizer.questions.trade.command import Figure, check_trade, show_trade
from optimizer.terminal import files, frame, options
from optimizer.terminal.reading import reading


@reading
def solve(
    file: options.File,
    *,
    output: options.DrawnOutput = None,
    force: options.Force = False,
    fail_under: Annotated[
        float | None,
        typer.Option(
            "--fail-under",
            metavar="TOL",
            help="Exit with code 5 when a margin is smaller than TOL tolerances.",
        ),
    ] = None,
    exact: Annotated[
        bool,
        typer.Option(
            "--exact",
            help="Accept only the exact target, not a line-up within the target's tolerances.",
        ),
    ] = False,
    apply: Annotated[
        int | None,
        typer.Option(
            "--apply",
            metavar="N",
            min=1,
            help="Write the scenario with change N made, comments kept (with -o NEW.toml).",
        ),
    ] = None,
    starts: Annotated[
        int,
        typer.Option(
            "--starts", metavar="N", min=1, help="Starts of the search over free dimensions."
        ),
    ] = 8,
    seed: Annotated[
        int, typer.Option("--seed", metavar="N", min=0, help="Seed of those starts.")
    ] = 2026,
    sought: Annotated[
        list[str] | None,
        typer.Option(
            "--for",
            metavar="TIME|good-share",
            help="A time, such as 30s or 5min: search over free dimensions no longer, and give the "
            "best mould so far. (Without it the answer is the same on every machine.) good-share: "
            "pick free dimensions and figures of the target for the most good balls under the "
            "shop's spread. May be given twice.",
        ),
    ] = None,
    jobs: options.Jobs = None,
    scheduler: options.Scheduler = None,
    trade: Annotated[
        Figure | None,
        typer.Option(
            "--trade",
            help="Show how the smallest margin, made as large as it can be, changes with this "
            "figure of the target, left free as { min, max }, instead.",
        ),
    ] = None,
    worth: Annotated[
        bool,
        typer.Option(
            "--worth",
            help="Also show what each dimension and each binding bound is worth (re-solved: it "
            "takes longer than the solve).",
        ),
    ] = False,
    second_opinion: Annotated[
        bool,
        typer.Option(
            "--second-opinion",
            help="Also solve the last program of each group of weights by a solver of another "
            "kind; if the two differ, nothing is decided (exit code 6).",
        ),
    ] = False,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="FILE.svg", help="With --trade: draw the curve, too."),
    ] = None,
    proof: options.Proof = None,
    as_json: options.Json = False,
) -> int:
    """Find the line-up: the density of every part in every weight class.

    Class weight (gross weight on the carton, undrilled, finished), low RG and differential are
    met in every weight, and the densities lie as far inside the limits as they can. Margins are
    shown in their own unit and in tolerances, the declared spread of that quantity.

    Weights that can't meet the target exactly are brought as near to it as the limits allow: if
    every figure is then within the target's own tolerance, the line-up is WITHIN TOLERANCE (exit
    code 0), and what is left of each tolerance is among the margins. --exact refuses that.

    Without a line-up, it shows which limits can't hold together, which single changes would do
    (numbered; --apply N -o NEW.toml makes one), which weights can be made, and the nearest line-up
    that can be poured.

    --worth shows what each dimension is worth: the change of the smallest margin when it is held a
    step off its best value, or goes a step beyond its range, with all else re-optimised.

    With -o FILE.dxf the moulds are drawn for CAD, each part's section on its own layer
    (samespin[cad]).

    With --trade FIGURE it shows what that figure of the target costs: the curve of the smallest
    margin over its range, where another limit takes over, and where every limit is kept.

    Free dimensions, and those on the rack, are picked together with the densities. Ctrl-C gives
    the best line-up so far.

    Exit codes: 0 found, exactly or within tolerance; 3 the file is wrong; 4 infeasible; 5 a margin
    is under --fail-under; 6 not decided; 130 interrupted.
    """
    options.check_pool(jobs, scheduler)
    _check_options(file, output, apply, fail_under, proof, force=force, drawn=trade is None)
    files.check_proof(proof, [file], output, force=force)
    no_other = apply is None and fail_under is None and not (worth or second_opinion or proof)
    check_trade(file, trade, picture, no_other=no_other, force=force)
    try:
        seconds, for_good = sought_of(sought or [])
    except ValueError as error:
        raise typer.BadParameter(str(error), param_hint="'--for'") from None
    if trade is not None:
        return show_trade(file, trade, output, picture, force=force, as_json=as_json)
    from optimizer.lineup.moulds.pools import pool
    from optimizer.lineup.moulds.starts import Starts
    from optimizer.lineup.pipeline import solve_lineup
    from optimizer.lineup.result import SearchInterruptedError
    from optimizer.questions.solve import ending
    from optimizer.questions.solve.about import about
    from optimizer.questions.solve.page import solved_report
    from optimizer.scenario import read_scenario

    scenario = read_scenario(file, target_required=True, share_required=proof is not None)
    files.check_named(scenario, output)
    if apply is not None:
        files.check_same_files(scenario, output)
    how = Starts(starts, seed, pool(jobs, scheduler), seconds)
    interrupted, picked = False, None
    try:
        if for_good:
            from optimizer.questions.tolerance.drawing import most_good

            result, picked = most_good(scenario, how, exact=exact)
        else:
            result = solve_lineup(scenario, how, exact=exact)
    except SearchInterruptedError as stopped:
        if apply is not None:
            raise
        result, worth, second_opinion, interrupted = stopped.best(), False, False, True
    known = about(result, worth=worth, second_opinion=second_opinion)
    if known.interrupted and apply is not None:
        raise KeyboardInterrupt
    result, interrupted = known.result, interrupted or known.interrupted
    saved = output if output is not None and output.suffix.lower() == ".json" else None
    if apply is not None and output is not None:
        return ending.write_changed(known.diagnosis, apply, output, force=force, as_json=as_json)
    report = solved_report(known, picked)
    if output is not None and output.suffix.lower() == ".dxf" and not result.accepted:
        frame.tell(f"{output} is not written: no mould is cut for a line-up that was not found")
        output = None
    paths = files.save(report, output, ending.proofs(known, proof), force=force)
    unsaved = saved is None and picked is not None and picked.after is not None
    source = frame.again(file) if saved is None else frame.quoted(saved)
    then = ending.following(result, source, known.diagnosis, unsaved=unsaved)
    frame.answer(report, then, paths, as_json=as_json)
    return ending.code_told(result, fail_under, interrupted=interrupted)


def _check_options(
    file: str,
    output: Path | None,
    apply: int | None,
    fail_under: float | None,
    proof: Path | None,
    *,
    force: bool,
    drawn: bool,
) -> None:
    """Refuse wrong options, before any work is done."""
    if apply is not None and proof is not None:
        raise typer.BadParameter("goes without --apply", param_hint="'--proof'")
    if fail_under is not None and not 0.0 <= fail_under < math.inf:
        raise typer.BadParameter("a number of tolerances, 0 or more", param_hint="'--fail-under'")
    if apply is None:
        files.check_output(output, [file], force=force, drawn=drawn)
    else:
        files.check_scenario_output(output, [file], force=force)
