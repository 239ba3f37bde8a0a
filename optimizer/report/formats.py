"""The formats a report can be written to a file in: one line each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from optimizer.report import csv_, json_
from optimizer.report.document import Report

FORMATS: Final[Mapping[str, Callable[[Report], bytes]]] = {
    ".json": json_.encoded,
    ".csv": csv_.encoded,
}
"""File name suffix → the writer of that format."""
