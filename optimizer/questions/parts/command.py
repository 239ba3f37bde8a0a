"""`samespin parts`: what each part does for weight, RG and differential."""

from __future__ import annotations

from typing import Annotated

import typer

from optimizer.questions.line_up.saved import sources
from optimizer.terminal import files, frame, options
from optimizer.terminal.reading import reading


@reading
def parts(
    source: Annotated[str, typer.Argument(metavar="X", help=sources.X)],
    *,
    output: options.Output = None,
    pictures: options.Pictures = None,
    force: options.Force = False,
    as_json: options.Json = False,
) -> int:
    """Show what each part does: its share of the weight, of each RG² and of the differential.

    A part is its own material, without the parts inside it; its moments are about the CG (or the
    centre, if the target's RGs are) and the axes of the whole ball, so that the parts add up to the
    ball. Beside them stands what 0.01 g/cm³ more of the part moves, measured on the changed ball;
    and of a line, what each part gives up or takes on from the heaviest weight to the lightest.
    -o writes a page with pictures (.html), or .json, .csv, .xlsx.

    Exit codes are those of `solve`: 4 the line-up is infeasible, 6 it is undecided; what is shown
    is then the nearest, and says so.
    """
    files.check_output(output, [source], force=force)
    files.check_folder(pictures, force=force)
    from optimizer.paper.document import Report
    from optimizer.questions.parts.data import parts_data
    from optimizer.questions.parts.page import parts_blocks

    result = sources.lineup(source)
    files.check_named(result.scenario, output)
    report = Report(parts_blocks(result), parts_data(result))
    paths = files.save(report, output, files.pictures(report, pictures), force=force)
    frame.answer(report, f"samespin report {frame.again(source)}", paths, as_json=as_json)
    return frame.EXIT[result.status]
