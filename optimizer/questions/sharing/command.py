"""`samespin sharing`: how few different pours, and their cost in margin."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer.questions.sharing.command_moulds import share_moulds
from optimizer.terminal import files, frame, options
from optimizer.terminal.reading import reading
from shared.errors import Problem

if TYPE_CHECKING:
    from optimizer.questions.sharing.sharing import Frontier


@reading
def sharing(
    file: options.File,
    *,
    pours: Annotated[
        int | None,
        typer.Option(
            "--pours",
            metavar="N",
            min=1,
            help="With -o NEW.toml: write the scenario with at most N different pours.",
        ),
    ] = None,
    moulds: Annotated[
        int | None,
        typer.Option(
            "--moulds",
            metavar="N",
            min=1,
            help="Where dimensions are open, with -o NEW.toml: write the scenario with N moulds.",
        ),
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="Write to FILE: the report as .json, .csv, .html or .xlsx, or with --pours or "
            "--moulds a scenario, .toml.",
        ),
    ] = None,
    force: options.Force = False,
    proof: options.Proof = None,
    as_json: options.Json = False,
) -> int:
    """Find how few different pours the line needs, and what that costs in margin.

    A pour is a material at one density: poured into several weights (or parts), it is mixed once.
    Neighbouring weights may share a part's density; what the scenario shares stays shared. For
    each number of pours, the best line-up found is shown: the one with the largest smallest
    margin. With --pours N -o NEW.toml the scenario is written with its same_density, comments
    kept.

    How many pours are needed at least is proven, for line-ups that meet the target exactly. With
    --proof the proof is written, and some 15 s are spent to show more.

    Where dimensions of the mould are open, moulds are compared instead: what one mould for all
    weights costs in margin against two or three (--moulds N -o NEW.toml).

    Exit codes: 0 found; 3 the file is wrong; 4 infeasible, or not with N pours; 6 not decided.
    """
    _check_options(file, pours, moulds, output, force=force)
    files.check_proof(proof, [file], output, force=force)
    from optimizer.paper.document import Report
    from optimizer.questions.proof.file import proofs_at
    from optimizer.questions.sharing.data import sharing_data
    from optimizer.questions.sharing.evidence import evidence
    from optimizer.questions.sharing.fewest import QUICK, THOROUGH
    from optimizer.questions.sharing.page import sharing_blocks
    from optimizer.questions.sharing.sharing import frontier
    from optimizer.scenario import read_scenario
    from optimizer.scenario.source.writing import with_same_density

    scenario = read_scenario(
        file, target_required=True, mould_required=pours is not None, goal_allowed=False
    )
    if (pours or moulds) is not None:
        files.check_same_files(scenario, output)
    if scenario.open or moulds is not None:
        if proof is not None:
            frame.tell(f"{proof} is not written: nothing is proven about moulds")
        return share_moulds(scenario, moulds, output, force=force, as_json=as_json)
    result = frontier(scenario, QUICK if proof is None else THOROUGH)
    report = Report(sharing_blocks(result), sharing_data(result))
    if not result.own.found:
        output = None  # nothing to write
    new = dict[Path, bytes]()
    if output is not None and pours is not None:
        point = result.at_most(pours)
        if point is None:
            fewest = result.points[-1].pours
            what = f"no line-up with {pours} different pours was found"
            if result.fewest is not None and result.fewest.found <= pours:
                what += " that same_density can ask for"
            instead = f"the fewest is {fewest}: --pours {fewest}"
            return frame.failed([Problem(what, None, instead)], frame.INFEASIBLE, as_json=as_json)
        new[output] = with_same_density(scenario, point.sharing).encode()
    following = _following(result, file, output if new else None)
    report_path = None if new else output
    if proof is not None:
        new |= proofs_at(proof, scenario, evidence(result))
    paths = files.save(report, report_path, new, force=force)
    frame.answer(report, following, paths, as_json=as_json)
    return frame.EXIT[result.own.result.status]


def _check_options(
    file: str, pours: int | None, moulds: int | None, output: Path | None, *, force: bool
) -> None:
    """Refuse options that don't go together, before any work is done."""
    scenario_wanted = output is not None and output.suffix.lower() == ".toml"
    if scenario_wanted != ((pours or moulds) is not None):
        option = "--pours" if moulds is None else "--moulds"
        raise typer.BadParameter(f"{option} N goes with -o NEW.toml", param_hint=f"'{option}'")
    if output is not None and scenario_wanted:
        files.refuse(output, [file], force=force)
    else:
        files.check_output(output, [file], force=force)


def _following(frontier: Frontier, file: str, new: Path | None) -> str:
    """Return the next command to type."""
    if new is not None or not frontier.own.found:
        return f"samespin solve {frame.again(file) if new is None else frame.quoted(new)}"
    fewer = [point.pours for point in frontier.points if point.pours < frontier.own.pours]
    if not fewer:
        return f"samespin schedule {frame.again(file)}"
    name = Path(file).with_name(f"{Path(file).stem}-{fewer[0]}.toml")
    return f"samespin sharing {frame.again(file)} --pours {fewer[0]} -o {frame.quoted(name)}"
