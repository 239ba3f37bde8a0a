"""`samespin reconcile`: from measured balls back to what was poured, and the next pour."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer.questions.line_up.saved import sources
from optimizer.questions.reconcile.command_beside import (
    accepted,
    tell_half_cast,
    write_learned,
    write_template,
)
from optimizer.terminal import files, frame, options
from optimizer.terminal.reading import reading
from shared.errors import InputError, Problem

if TYPE_CHECKING:
    from optimizer.lineup.result import LineupResult
    from optimizer.paper.document import Block, Report
    from optimizer.questions.reconcile.finding import Reconciled
    from optimizer.questions.reconcile.next.bias import Bias
    from optimizer.questions.reconcile.next.pour import NextPour
    from optimizer.scenario import Scenario


@reading
def reconcile(
    source: Annotated[str, typer.Argument(metavar="X", help=sources.X)],
    measured: Annotated[
        Path | None,
        typer.Argument(metavar="MEASURED", help="What was measured: .csv or .xlsx."),
    ] = None,
    *,
    template: Annotated[
        bool,
        typer.Option("--template", help="Write the file to be filled in, made for this line-up."),
    ] = False,
    wide: Annotated[
        bool,
        typer.Option(
            "--wide",
            help="Take nothing as known of the densities but what each material allows: for a "
            "ball poured long ago. X is its drawing.",
        ),
    ] = False,
    part: Annotated[
        str | None,
        typer.Option("--part", help="Tell which one more reading would tell most of this part."),
    ] = None,
    weight: Annotated[
        str | None,
        typer.Option("--weight", metavar="LABEL", help="The weight of a ball that is half cast."),
    ] = None,
    cast: Annotated[
        list[str] | None,
        typer.Option(
            "--cast",
            metavar="PART=MASS",
            help="What is cast of it, such as keel=846.2g: the piece as it leaves its mould, with "
            "all that lies in it; or its density, as a bare number. Repeat for more castings.",
        ),
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="Write to FILE; its suffix gives the format: .json, .csv, .html, .xlsx; or "
            "NEW.toml: the scenario with the spread that was learned, comments kept.",
        ),
    ] = None,
    pictures: options.Pictures = None,
    force: options.Force = False,
    as_json: options.Json = False,
) -> int:
    """Tell from first balls what was poured, and what to pour next.

    MEASURED has a row for each reading: castings weighed before the next pour, ball weight, RGs or
    periods of a pendulum, differential, top weight, diameter; any of them, repeats too. --template
    writes one to fill in.

    Densities follow by generalised least squares, with the shop's spread as what is known before,
    each with its 95 % interval; a reading that doesn't fit is named with its line. Then: the next
    pour with the shop's bias taken out, how far the shop's densities are really spread, and which
    one more reading would tell most.

    With --weight and --cast, what to do with a ball that is half cast: what to pour next so that it
    still meets the target, which other weight the casting suits, and when to scrap it.
    """
    modes = {"MEASURED": measured is not None, "--template": template, "--cast": bool(cast)}
    rest = _given({"--wide": wide, "--part": part is not None, "--pictures": pictures is not None})
    _check_options(modes, weight, rest)
    read = [source, *([] if measured is None else [str(measured)])]
    new = output if output is not None and output.suffix.lower() == ".toml" else None
    if new is not None:
        _check_new(new, read, modes, rest, force=force)
    else:
        files.check_output(output, read, force=force)
    files.check_folder(pictures, force=force)
    if template and output is not None and output.suffix.lower() not in {".csv", ".xlsx"}:
        raise typer.BadParameter("a template is a .csv or .xlsx", param_hint="'-o'")
    if template:
        return write_template(source, output, force=force, as_json=as_json)
    if weight is not None and cast:
        return tell_half_cast(source, weight, cast, output, force=force, as_json=as_json)
    from optimizer.paper.document import Report
    from optimizer.questions.reconcile.aimed import aimed, unknown
    from optimizer.questions.reconcile.data import reconcile_data
    from optimizer.questions.reconcile.finding import reconciled
    from optimizer.questions.reconcile.learning.control_chart import control_charts
    from optimizer.questions.reconcile.learning.learned import learned
    from optimizer.questions.reconcile.learning.page import learned_blocks, learned_data
    from optimizer.questions.reconcile.measured.file import read_measured
    from optimizer.questions.reconcile.next.page import next_blocks, next_data
    from optimizer.questions.reconcile.page import reconcile_blocks
    from optimizer.questions.reconcile.telling import telling

    if measured is None:
        raise ValueError("checked above")
    result = None if wide else accepted(source)
    scenario = _drawing(source) if result is None else result.scenario
    files.check_named(scenario, output)
    _check_part(scenario, part)
    line = unknown(scenario) if result is None else aimed(result)
    found = reconciled(line, read_measured(measured, scenario))
    told, spreads = telling(found, part), learned(found)
    if new is not None:
        return write_learned(found, spreads, new, force=force, as_json=as_json)
    off, pours = _next_pours(found, result)
    data = reconcile_data(found, told) | next_data(off, pours) | {"learned": learned_data(spreads)}

    def page(*, whole: bool) -> Report:
        more: list[Block] = []
        if result is not None:
            more += next_blocks(found, off, pours, whole=whole)
            more += learned_blocks(found, spreads)
        if whole and (charts := control_charts(found)) is not None:
            more.append(charts)
        return Report(reconcile_blocks(found, told, more, whole=whole), data)

    paths = _saved(page, output, pictures, force=force)
    again = f"samespin reconcile {frame.again(source)} {frame.quoted(measured)} -o NEW.toml"
    after = again if any(each.usable for each in spreads) else None
    frame.answer(page(whole=False), after, paths, as_json=as_json)
    return frame.DONE


def _saved(
    page: Callable[..., Report], output: Path | None, pictures: Path | None, *, force: bool
) -> tuple[Path, ...]:
    """Write the whole page and its pictures, which are drawn only where they are asked for."""
    if output is None and pictures is None:
        return ()
    shown = page(whole=True)
    return files.save(shown, output, files.pictures(shown, pictures), force=force)


def _given(options: Mapping[str, bool]) -> list[str]:
    return [name for name, given in options.items() if given]


def _check_options(modes: Mapping[str, bool], weight: str | None, rest: Sequence[str]) -> None:
    """Refuse options that don't go together; `rest` are those given that are for MEASURED."""
    asked = _given(modes)
    if (weight is not None) != modes["--cast"] and len(asked) <= modes["--cast"]:
        what = "go together: --weight 15 --cast keel=846.2g"
        raise typer.BadParameter(what, param_hint="'--weight' and '--cast'")
    if not asked:
        what = "name the file of measurements; --template writes one to fill in"
        raise typer.BadParameter(what, param_hint="'MEASURED'")
    if len(asked) > 1:
        raise typer.BadParameter(f"doesn't go with {asked[0]}", param_hint=f"'{asked[1]}'")
    if asked != ["MEASURED"] and rest:
        raise typer.BadParameter("is for a file of measurements", param_hint=f"'{rest[0]}'")
    if weight is not None and asked != ["--cast"]:
        raise typer.BadParameter("goes with --cast", param_hint="'--weight'")


def _check_new(
    new: Path, read: Sequence[str], modes: Mapping[str, bool], rest: Sequence[str], *, force: bool
) -> None:
    """Refuse a new scenario where nothing is learned, or that can't be written."""
    if not modes["MEASURED"]:
        raise typer.BadParameter("a scenario is written from MEASURED", param_hint="'-o'")
    if rest:
        what = "doesn't go with -o NEW.toml: a scenario is all that it writes"
        raise typer.BadParameter(what, param_hint=f"'{rest[0]}'")
    files.check_scenario_output(new, read, force=force)


def _drawing(source: str) -> Scenario:
    """Return the scenario of X, whose mould must be given."""
    if Path(source).suffix.lower() in sources.SAVED:
        return sources.drawn(source)
    from optimizer.scenario import read_scenario

    return read_scenario(source, target_required=False, mould_required=True, goal_allowed=False)


def _check_part(scenario: Scenario, part: str | None) -> None:
    from shared.models import suggestion

    parts = [pour.part for pour in scenario.pours]
    if part is not None and part not in parts:
        what = "--part: is not a part of this line"
        raise InputError([Problem(what, f'"{part}"', suggestion(part, parts))])


def _next_pours(
    found: Reconciled, result: LineupResult | None
) -> tuple[tuple[Bias, ...], tuple[NextPour, ...]]:
    """Return the shop's bias and the next pour; neither while something doesn't fit."""
    if result is None or not found.fits:
        return (), ()
    from optimizer.questions.reconcile.next.bias import biases
    from optimizer.questions.reconcile.next.pour import next_pours

    off = biases(found)
    return off, next_pours(found.aimed, result, off)
