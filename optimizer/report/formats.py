"""The formats a report can be written to a file in: one line each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from optimizer.report import csv_, dxf, json_
from optimizer.report.document import Report

FORMATS: Final[Mapping[str, Callable[[Report], bytes]]] = {
    ".json": json_.encoded,
    ".csv": csv_.encoded,
    ".dxf": dxf.encoded,
}
"""File name suffix → the writer of that format."""

NEEDS: Final[Mapping[str, Callable[[], None]]] = {".dxf": dxf.required}
"""Formats that only commands with moulds to draw can write, and what says that it can be done."""
