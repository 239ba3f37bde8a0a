"""`samespin solve --trade`: what a figure of the target costs, over its range."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path

import typer

from optimizer.terminal import files, frame


class Figure(StrEnum):
    """The figures of a target, in its order."""

    RG = "rg"
    DIFFERENTIAL = "differential"
    INTERMEDIATE = "intermediate"
    CG_OFFSET = "cg_offset"


def check_trade(
    file: str, figure: Figure | None, picture: Path | None, *, no_other: bool, force: bool
) -> None:
    """Refuse options that don't go together; `no_other`: no option about one line-up is given."""
    if figure is None and picture is not None:
        raise typer.BadParameter("goes with --trade", param_hint="'--picture'")
    if figure is not None and not no_other:
        single = (
            "--apply, --fail-under, --worth, --second-opinion and --proof are about one line-up"
        )
        raise typer.BadParameter(f"is a curve: {single}", param_hint="'--trade'")
    files.check_picture(picture, [file], force=force)


def show_trade(
    file: str,
    figure: Figure,
    output: Path | None,
    picture: Path | None,
    *,
    force: bool,
    as_json: bool,
) -> int:
    """Find the curve, write what is asked for, and return the exit code."""
    from optimizer.ball.figures import TARGETED
    from optimizer.paper.document import Report
    from optimizer.questions.trade.data import trade_data
    from optimizer.questions.trade.page import trade_blocks
    from optimizer.questions.trade.picture import trade_picture
    from optimizer.questions.trade.trade import trade
    from optimizer.scenario import read_scenario

    scenario = read_scenario(file, target_required=True, mould_required=True, goal_allowed=False)
    curve = trade(scenario, TARGETED[list(Figure).index(figure)])
    data, drawn = trade_data(curve), files.drawn(picture, lambda: trade_picture(curve))
    whole = Report(trade_blocks(curve, whole=True), data)
    paths = files.save(whole, output, drawn, force=force)
    report = Report(trade_blocks(curve), data)
    following = f"samespin window {frame.again(file)}"
    if curve.status == "feasible":
        following = f"samespin solve {frame.again(file)} (picks the best; or write one value)"
    frame.answer(report, following, paths, as_json=as_json)
    return frame.EXIT[curve.status]
