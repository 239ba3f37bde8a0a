"""`samespin window`: what RG and differential each weight can reach, and what all can share."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer.terminal import files, frame, options
from optimizer.terminal.reading import reading

if TYPE_CHECKING:
    from optimizer.questions.window.window import Window


@reading
def window(
    file: options.File,
    *,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="FILE.svg", help="Also draw the windows to FILE.svg."),
    ] = None,
    output: options.Output = None,
    force: options.Force = False,
    proof: options.Proof = None,
    as_json: options.Json = False,
) -> int:
    """Show which low RG and differential each weight class can reach, and which all can share.

    Class weights are met and all limits kept. Of [target], an intermediate differential and a CG
    offset must be met; RG and differential are drawn, and [target] may be left out. Weights that
    share a density (same_density) are treated as one line. Each edge of a window is named by the
    limits that make it. If the target lies outside the shared window, the line-up is solved to say
    whether it can be met within its tolerances.

    With --proof, each window that is called exact is proven in seconds: that nothing lies outside
    of it, and balls that are at its corners. So is a shared window that was found by search, in
    minutes.

    Exit codes: 0 all weights can share something, or the target can be met within its tolerances;
    3 the file is wrong; 4 there is nothing to share; 6 not decided.
    """
    files.check_output(output, [file], force=force)
    files.check_picture(picture, [file], force=force)
    files.check_proof(proof, [file], output, force=force)
    from optimizer.lineup.pipeline import solve_lineup
    from optimizer.paper.document import Report
    from optimizer.questions.window.data import window_data
    from optimizer.questions.window.deciding import decided
    from optimizer.questions.window.page import window_blocks
    from optimizer.questions.window.picture import window_picture
    from optimizer.questions.window.window import window as windows
    from optimizer.scenario import read_scenario

    scenario = read_scenario(file, target_required=False, mould_required=True, goal_allowed=False)
    result = decided(windows(scenario), lines=proof is not None)
    if result.holds_target is False:
        result = replace(result, answer=solve_lineup(scenario).status)
    report = Report(window_blocks(result), window_data(result))
    drawn = {**files.drawn(picture, lambda: window_picture(result)), **_proofs(result, proof)}
    paths = files.save(report, output, drawn, force=force)
    target = ", with a [target] in the shared window" if not scenario.target else ""
    following = f"samespin solve {frame.again(file)}{target}"
    frame.answer(report, following, paths, as_json=as_json)
    return _exit_code(result)


def _proofs(result: Window, path: Path | None) -> dict[Path, bytes]:
    """Return the file of proofs, if one is asked for and anything is proven."""
    if path is None:
        return {}
    from optimizer.questions.proof.file import proofs_at
    from optimizer.questions.window.deciding import evidence

    every = list(evidence(result))
    for what in every:
        if isinstance(what, str):
            frame.tell(what)
    return proofs_at(path, result.scenario, (each for each in every if not isinstance(each, str)))


def _exit_code(result: Window) -> int:
    if result.answer in ("feasible", "within_tolerance"):
        return frame.DONE
    if result.broken or result.common.none:
        return frame.INFEASIBLE
    return frame.DONE if result.common.bands else frame.UNDECIDED
