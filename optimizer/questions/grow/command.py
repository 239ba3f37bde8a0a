"""`samespin grow`: where the next pour of a line goes, or which one may go."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer.questions.line_up.saved import sources
from optimizer.questions.solve.sought import duration
from optimizer.terminal import files, frame, options
from optimizer.terminal.reading import reading

if TYPE_CHECKING:
    from optimizer.questions.grow.grown import Growth


@reading
def grow(
    source: Annotated[str, typer.Argument(metavar="X", help=sources.X)],
    *,
    more: Annotated[
        int | None,
        typer.Option(
            "--more",
            metavar="N",
            min=1,
            max=2,
            show_default=False,
            help="One or two pours more: where they should go. Without --fewer: 1.",
        ),
    ] = None,
    fewer: Annotated[
        int | None,
        typer.Option(
            "--fewer",
            metavar="N",
            min=1,
            max=2,
            show_default=False,
            help="One or two pours fewer: which may go with the least loss.",
        ),
    ] = None,
    output: options.Output = None,
    write: Annotated[
        Path | None,
        typer.Option(
            "--write",
            metavar="DIR",
            show_default=False,
            help="Also write each line that can be poured to DIR as a scenario, numbered as on the "
            "screen.",
        ),
    ] = None,
    limit: Annotated[
        str | None,
        typer.Option(
            "--for",
            metavar="TIME",
            show_default=False,
            help="A time, such as 30s or 5min: search no longer, and give the best so far.",
        ),
    ] = None,
    starts: Annotated[
        int,
        typer.Option("--starts", metavar="N", min=1, help="Starts of the search for each line."),
    ] = 2,
    jobs: options.Jobs = None,
    scheduler: options.Scheduler = None,
    force: options.Force = False,
    as_json: options.Json = False,
) -> int:
    """Find where one more pour (or two) is worth most, or which may go with the least loss.

    Tried is each part that the shapes have room for, in every material of the scenario: a denser or
    lighter heart, a shell or a jacket that splits a part in two, a ring around the pin axis, a cap
    at either end, with its lengths free within the walls. The most promising are solved like any
    line-up, and ranked by their smallest margin; beside it stand the differentials that all weights
    can share, pours, and where the scenario knows prices or spreads, cost and the share of good
    lines. What is shown is solved and measured, never estimated; that no other part is worth more
    is not proven. Where the line as drawn can't be made, it shows which part would make it
    possible.

    --fewer takes away each part in turn; what lies in it then lies in its host.

    Each line is a scenario that solves to the margin shown: --write DIR writes them, comments kept.
    Ctrl-C, like --for, gives the best so far.

    Exit codes: 0 a line that can be poured; 3 the file is wrong, or nothing can be added or taken
    away; 4 each part is proven to be needed; 6 none found; 130 interrupted.
    """
    if more is not None and fewer is not None:
        raise typer.BadParameter("goes without --fewer", param_hint="'--more'")
    options.check_pool(jobs, scheduler)
    files.check_output(output, [source], force=force)
    try:
        seconds = float("inf") if limit is None else duration(limit)
    except ValueError as error:
        raise typer.BadParameter(str(error), param_hint="'--for'") from None
    _check_folder(write, source, force=force)
    from optimizer.lineup.moulds.pools import pool
    from optimizer.lineup.moulds.starts import Starts
    from optimizer.paper.document import Report
    from optimizer.questions.grow.data import growth_data
    from optimizer.questions.grow.growth import growth
    from optimizer.questions.grow.page import growth_blocks, growth_report

    result = sources.lineup(source)
    files.check_same_files(result.scenario, None if write is None else write / "x.toml")
    how = Starts(count=starts, pool=pool(jobs, scheduler), seconds=seconds)
    found = growth(result, "fewer" if fewer else "more", fewer or more or 1, how)
    scenarios = _scenarios(found, source, write)
    if write is not None:
        write.mkdir(exist_ok=True)
    paths = files.save(growth_report(found), output, scenarios, force=force)
    report = Report(growth_blocks(found), growth_data(found, paths))
    frame.answer(report, _following(found, source, scenarios), paths, as_json=as_json)
    if not found.complete and seconds == float("inf"):
        return frame.Said(frame.INTERRUPTED)
    if found.able:
        return frame.DONE
    never = found.way == "fewer" and all(x.result.status == "infeasible" for x in found.each)
    return frame.INFEASIBLE if never else frame.UNDECIDED


def _check_folder(path: Path | None, source: str, *, force: bool) -> None:
    """Refuse what is no folder and can't be made one, or has such scenarios already."""
    if path is None:
        return
    if path.exists() and not path.is_dir():
        raise typer.BadParameter(f"{path} is a file: name a folder", param_hint="'--write'")
    if not path.parent.is_dir():
        raise typer.BadParameter(f"there is no folder {path.parent}", param_hint="'--write'")
    for there in sorted(path.glob(f"{Path(source).stem}-*.toml")):
        files.refuse(there, [source], force=force)


def _scenarios(found: Growth, source: str, folder: Path | None) -> dict[Path, bytes]:
    """Return the scenarios of the lines that can be poured, by their files."""
    if folder is None:
        return {}
    return {
        folder / f"{Path(source).stem}-{number}.toml": line.text.encode()
        for number, line in enumerate(found.each, start=1)
        if line.accepted
    }


def _following(found: Growth, source: str, scenarios: dict[Path, bytes]) -> str:
    """Return the next command to type."""
    if scenarios:
        return f"samespin compare {frame.again(source)} {frame.quoted(next(iter(scenarios)))}"
    if not found.able:
        return f"samespin solve {frame.again(source)}"
    which = "--fewer" if found.way == "fewer" else "--more"
    return f"samespin grow {frame.again(source)} {which} {found.count} --write lines"
