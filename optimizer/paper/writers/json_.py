"""The writer for other programs: one JSON object."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from shared.letters import json_escaped

if TYPE_CHECKING:
    from optimizer.paper.document import Report


def text(data: dict[str, Any]) -> str:
    """Return `data` as JSON, no NaN, infinity or raw control character, ending in a newline."""
    return json_escaped(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False)) + "\n"


def encoded(report: Report) -> bytes:
    """Return the report's data as JSON in UTF-8."""
    return text(report.data).encode()
