"""The formats of report files: one line each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimizer.paper.document import Report
from optimizer.paper.writers import csv_, dxf, html_, json_, xlsx_


@dataclass(frozen=True)
class Format:
    """A format: its writer, a check that raises InputError without its package, if moulds only."""

    encoded: Callable[[Report], bytes]
    required: Callable[[], None] | None = None
    drawn: bool = False


FORMATS: Final[Mapping[str, Format]] = {
    ".json": Format(json_.encoded),
    ".csv": Format(csv_.encoded),
    ".html": Format(html_.encoded),
    ".xlsx": Format(xlsx_.encoded, xlsx_.required),
    ".dxf": Format(dxf.encoded, dxf.required, drawn=True),
}
"""File name suffix → that format."""


def written(report: Report, path: Path) -> bytes:
    """Return `report` in the format of the suffix of `path`."""
    return FORMATS[path.suffix.lower()].encoded(report)
