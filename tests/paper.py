"""What stands where on printed paper: the words of a PDF, by poppler's pdftotext."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import dataclass
from html import unescape
from pathlib import Path

import pytest
from waiting import PATIENT

SIZES = {"A4": (595, 842), "letter": (612, 792)}
"""Upright, points."""
MARGIN = 14
"""No printer reaches nearer to an edge, points."""


@dataclass(frozen=True)
class Paper:
    """A printed page: its size and its words, each with its left and right edge and its top."""

    size: tuple[float, float]
    words: list[tuple[str, float, float, float]]

    @property
    def text(self) -> str:
        """Its words in a row."""
        return " ".join(word for word, *_ in self.words)

    @property
    def inside(self) -> bool:
        """Whether every word stands between the side margins."""
        least = min(left for _, left, _, _ in self.words)
        most = max(right for _, _, right, _ in self.words)
        return least >= MARGIN and most <= self.size[0] - MARGIN


def tool(*names: str) -> str:
    """The program of one of these names, or the test is skipped and says why."""
    for name in names:
        if shutil.which(name):
            return name
    return pytest.skip(f"{' or '.join(names)} is not installed")


def run(*command: str | Path) -> str:
    done = subprocess.run(command, check=True, capture_output=True, timeout=PATIENT)  # noqa: S603  ours
    return done.stdout.decode()


def papers(pdf: Path) -> list[Paper]:
    """The pages of a PDF."""
    number = r'"([-\d.]+)"'
    word = re.compile(
        rf"<word xMin={number} yMin={number} xMax={number} yMax={number}>(.*?)</word>"
    )
    found = []
    for page in run(tool("pdftotext"), "-bbox", pdf, "-").split("<page ")[1:]:
        size = re.match(rf"width={number} height={number}", page)
        words = [
            (unescape(text), float(left), float(right), float(top))
            for left, top, right, _, text in word.findall(page)
        ]
        found.append(Paper((float(size[1]), float(size[2])), words))
    return found
