"""The edges of a window, named by the limits that make them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby
from operator import itemgetter
from typing import Any

import numpy as np

from optimizer.lineup.claims import Claim
from optimizer.questions.window.exact.makers import Makers
from optimizer.questions.window.reach import Reach
from shared.arrays import Array

SHORT = 0.01
"""Of the window's size: shorter stretches of an outline are left out."""
MOST = 3
"""Limits named for one edge; --json has them all."""


def long_edges(reach: Reach, names: Mapping[str, str]) -> Iterator[tuple[Array, str]]:
    """Yield the longer edges (k, 2) and their limits in words; neighbours with the same as one."""
    for band in reach.bands:
        box = np.ptp(band.outline, axis=0)
        size = np.where(box > 0.0, box, 1.0)
        long = [
            (points, makers_line(makers, names))
            for points, makers in band.edges
            if makers and float(np.max(np.ptp(points, axis=0) / size)) > SHORT
        ]
        for words, edges in groupby(long, key=itemgetter(1)):
            yield np.vstack([points for points, _ in edges]), words


def makers_line(makers: Makers, names: Mapping[str, str], most: int = MOST) -> str:
    """Return the limits that make an edge: "16 lb: cover density max, girdle density min"."""
    by_weight: dict[str | None, list[str]] = {}
    for claim in makers[:most]:
        by_weight.setdefault(claim.weight, []).append(claim.name)
    return "; ".join(
        f"{'' if weight is None else f'{names[weight]}: '}{', '.join(words)}"
        for weight, words in by_weight.items()
    )


def claim_data(claim: Claim) -> dict[str, Any]:
    """Return a limit as JSON types; `weight` is None where one density is poured in all weights."""
    return {
        "limit": claim.words,
        "part": part_data(claim.of),
        "weight": claim.weight,
        "words": claim.name,
    }


def part_data(part: str | tuple[str, str] | None) -> str | list[str] | None:
    """Return a limit's part, or pair of parts, as JSON types; None without one."""
    return list(part) if isinstance(part, tuple) else part
