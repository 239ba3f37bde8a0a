"""The outcome of comparing a sheet that went out: to be read, and as "samespin/verified@1"."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Final

from optimizer.paper.document import Block, Notes, Paragraph
from optimizer.questions.schedule.sheet_back.comparing import Compared

FORMAT: Final = "samespin/verified@1"


def verify_blocks(compared: Compared, sheet: str, document: str) -> tuple[Block, ...]:
    """Return that `sheet` agrees with `document`, or else every difference."""
    if compared.agrees:
        what = f"{sheet} agrees with {document}: all {compared.rows} rows read as they should."
        return (Paragraph(what, "good"), Paragraph("What is written in blanks is not compared."))
    lines = (*map(str, compared.others), *map(str, compared.differences))
    return (Paragraph(f"{sheet} differs from {document}:", "bad"), Notes(lines))


def verify_data(compared: Compared, sheet: str) -> dict[str, Any]:
    """Return the same as JSON types; `reads` and `should` are null where there is no such row."""
    return {
        "format": FORMAT,
        "sheet": sheet,
        "agrees": compared.agrees,
        "rows": compared.rows,
        "belongs_to": {other.what: other.sheet for other in compared.others},
        "differences": [asdict(difference) for difference in compared.differences],
    }
