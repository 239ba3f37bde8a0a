"""Results as a notebook shows them: import this module, and they display themselves."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from optimizer.lineup.result import LineupResult
from optimizer.lineup.shown import PAGES
from optimizer.paper.document import Block, Pictures
from optimizer.paper.writers.html_ import fragment
from optimizer.questions.compare.compare import Comparison
from optimizer.questions.compare.page import comparison_report
from optimizer.questions.line_up.balls.strip import strip
from optimizer.questions.line_up.page import findings, opening
from optimizer.questions.schedule.page import schedule_blocks
from optimizer.questions.schedule.pouring.schedule import Schedule
from optimizer.questions.trade.page import trade_blocks
from optimizer.questions.trade.picture import trade_picture
from optimizer.questions.trade.trade import Trade
from optimizer.questions.window.page import window_blocks
from optimizer.questions.window.picture import window_picture
from optimizer.questions.window.window import Window

BLOCKS: Final[Mapping[type, Callable[[Any], tuple[Block, ...]]]] = {
    LineupResult: lambda result: (*opening(result), strip(result), *findings(result)),
    Comparison: lambda comparison: comparison_report(comparison).blocks,
    Window: lambda window: (Pictures(window_picture(window), ""), *window_blocks(window)),
    Trade: lambda trade: (Pictures(trade_picture(trade), ""), *trade_blocks(trade)),
    Schedule: schedule_blocks,
}
"""What is shown of each kind of result."""


def html(result: Any) -> str:
    """Return `result` as HTML within another page."""
    return fragment(BLOCKS[type(result)](result))


PAGES.update(dict.fromkeys(BLOCKS, html))
