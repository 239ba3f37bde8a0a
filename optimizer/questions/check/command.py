"""`samespin check`: read a scenario, show it, and measure its balls where nothing is free."""

from __future__ import annotations

from typing import Annotated

import typer

from optimizer.terminal import frame, options
from optimizer.terminal.reading import reading
from shared.errors import InputError, Problem


@reading
def check(
    file: options.File,
    *,
    density: Annotated[
        list[str] | None,
        typer.Option(
            "--density",
            metavar="PART=VALUE",
            help="Fix a part's density, in the file's unit of density; may be given again.",
        ),
    ] = None,
    as_json: options.Json = False,
) -> int:
    """Read a scenario, check it, and show its parts, walls and what is free.

    With every density fixed, in the file or by --density, the ball is measured too: weight (gross
    weight, undrilled), RG about the centre of gravity and about the ball's centre, differentials,
    CG, top weight and pin distance. Use it to check the ball that you pour today; [target] may
    then be left out. Walls (clearance, cover thickness) are shown with their minimum. Each of the
    file's [cases] is read, too, and what is wrong in it is told.

    Exit codes: 0 in order; 3 the file is wrong; 4 a limit is broken, or the density ranges can't
    make a class weight.
    """
    from optimizer.questions.check.cases import check_cases
    from optimizer.questions.check.checking import checked
    from optimizer.questions.check.data import check_data
    from optimizer.questions.check.page import check_blocks
    from optimizer.scenario import read_scenario

    fixed = _densities(density or [])
    scenario = read_scenario(file, target_required=False, densities=fixed)
    check_cases(scenario, fixed)
    result = checked(scenario)
    stopped = bool(result.broken or result.out_of_reach)
    if as_json:
        frame.put_json(check_data(result))
    else:
        command = "check" if stopped else "solve"
        following = f"samespin {command} {frame.again(file)}"
        if stopped:
            following += ", once the file is mended"
        elif not scenario.target or result.measured:
            following += ", with ranges of density and a [target], to find densities"
        frame.show(check_blocks(result), following)
    return frame.INFEASIBLE if stopped else frame.DONE


def _densities(options: list[str]) -> dict[str, float]:
    """Return the densities that were given as PART=VALUE. Raises InputError."""
    densities, wrong = dict[str, float](), list[Problem]()
    for option in options:
        name, _, value = option.rpartition("=")
        part = name.strip()
        try:
            number = float(value)
        except ValueError:
            part = ""
        if not part:
            instead = "such as --density cover=1.16"
            wrong.append(Problem("--density is not PART=VALUE", option, instead))
        elif part in densities:
            wrong.append(Problem(f"--density {part} is given twice", option, "give it once"))
        else:
            densities[part] = number
    if wrong:
        raise InputError(wrong)
    return densities
