"""Results as a notebook shows them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from optimizer.lineup.result import LineupResult
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

PAGES: Final[Mapping[type, Callable[[Any], tuple[Block, ...]]]] = {
    LineupResult: lambda result: (*opening(result), strip(result), *findings(result)),
    Comparison: lambda found: comparison_report(found).blocks,
    Window: lambda found: (Pictures(window_picture(found), ""), *window_blocks(found)),
    Trade: lambda found: (Pictures(trade_picture(found), ""), *trade_blocks(found)),
    Schedule: schedule_blocks,
}
"""What is shown of each kind of result."""


def html(result: Any) -> str:
    """Return `result` as HTML within another page. Raises TypeError for what can't be shown."""
    if type(result) not in PAGES:
        raise TypeError(f"a {type(result).__name__} has no page of its own")
    return fragment(PAGES[type(result)](result))
