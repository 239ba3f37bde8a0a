"""Results as a notebook shows them."""

from __future__ import annotations

from functools import singledispatch
from typing import Any

from optimizer.foundry.schedule import Schedule
from optimizer.lineup.result import LineupResult
from optimizer.report.compare.page import comparison_report
from optimizer.report.document import Block, Pictures
from optimizer.report.pictures.strip import strip
from optimizer.report.schedule.page import schedule_blocks
from optimizer.report.solution.page import findings, opening
from optimizer.report.trade.page import trade_blocks
from optimizer.report.trade.picture import trade_picture
from optimizer.report.window.page import window_blocks
from optimizer.report.window.picture import window_picture
from optimizer.report.writers.html_ import fragment
from optimizer.studies.compare import Comparison
from optimizer.studies.trade import Trade
from optimizer.studies.window import Window


def html(result: Any) -> str:
    """Return `result` as HTML within another page. Raises TypeError for what can't be shown."""
    return fragment(shown(result))


@singledispatch
def shown(result: Any) -> tuple[Block, ...]:
    """Return what is shown of a result. Raises TypeError for what can't be shown."""
    raise TypeError(f"a {type(result).__name__} has no page of its own")


@shown.register
def _(result: LineupResult) -> tuple[Block, ...]:
    return (*opening(result), strip(result), *findings(result))


@shown.register
def _(result: Comparison) -> tuple[Block, ...]:
    return comparison_report(result).blocks


@shown.register
def _(result: Window) -> tuple[Block, ...]:
    return (Pictures(window_picture(result), ""), *window_blocks(result))


@shown.register
def _(result: Trade) -> tuple[Block, ...]:
    return (Pictures(trade_picture(result), ""), *trade_blocks(result))


@shown.register
def _(result: Schedule) -> tuple[Block, ...]:
    return schedule_blocks(result)
