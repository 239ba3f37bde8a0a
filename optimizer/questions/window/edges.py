"""The edges of a window, told by the limits that make them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from optimizer.lineup.claims import Claim
from optimizer.questions.window.exact.bands import Makers
from optimizer.questions.window.reach import Reach
from shared.arrays import Array

SHORT = 0.01
"""A stretch of an outline shorter than this part of the window isn't told."""
MOST = 3
"""Limits that are named for one edge; --json has them all."""


def told_edges(reach: Reach, names: Mapping[str, str]) -> Iterator[tuple[Array, str]]:
    """Yield the edges long enough to tell, with their limits; neighbours with the same as one."""
    for band in reach.bands:
        box = np.ptp(band.outline, axis=0)
        size = np.where(box > 0.0, box, 1.0)
        told: list[tuple[list[Array], str]] = []
        for points, makers in band.edges:
            if not makers or float(np.max(np.ptp(points, axis=0) / size)) <= SHORT:
                continue
            words = makers_line(makers, names)
            if told and told[-1][1] == words:
                told[-1][0].append(points)
            else:
                told.append(([points], words))
        yield from ((np.vstack(some), words) for some, words in told)


def makers_line(makers: Makers, names: Mapping[str, str], most: int = MOST) -> str:
    """Return the limits that make an edge: "16 lb: cover density max, girdle density min"."""
    by_weight: dict[str | None, list[str]] = {}
    for claim in makers[:most]:
        by_weight.setdefault(claim.weight, []).append(claim.name)
    lines = [
        ", ".join(words) if weight is None else f"{names[weight]}: {', '.join(words)}"
        for weight, words in by_weight.items()
    ]
    return "; ".join(lines)


def claim_data(claim: Claim) -> dict[str, Any]:
    """Return a limit as JSON types; `weight` is None where one density is poured in all weights."""
    return {
        "limit": claim.words,
        "part": part_data(claim.of),
        "weight": claim.weight,
        "words": claim.name,
    }


def part_data(part: str | tuple[str, str] | None) -> str | list[str] | None:
    """Return what a limit is about as JSON types: a part, a pair of parts, or None."""
    return list(part) if isinstance(part, tuple) else part
