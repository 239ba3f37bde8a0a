"""Which figure of a ball each margin measures: what a page needs to measure it again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, Literal, TypeAlias, get_args

import numpy as np

from geometry.moments import Moments
from geometry.placement import Placement
from optimizer.limits import Measures
from optimizer.linear.maps import LinearMap
from optimizer.linear.rows import Margin
from optimizer.lineup.margins import margins
from shared.reference import table

Figure: TypeAlias = Literal[
    "density",
    "density step",
    "weight",
    "rg",
    "differential",
    "intermediate differential",
    "top weight",
    "pin distance",
    "pin marking",
    "diameter",
    "wall",
]
"""A figure by the name that limits give it. "density" is of the margin's part, "density step" of
its pair, the first's less the second's; the others are of the whole ball."""

STILL: Final[tuple[Figure, ...]] = ("diameter", "wall")
"""Figures of the mould, which are the same at any densities."""


def figure(margin: Margin) -> Figure:
    """Return the figure that `margin` measures. Raises ValueError where none has its name."""
    name = margin.limit.removesuffix(" min").removesuffix(" max")
    for book in table("rulebook").values():
        name = name.removeprefix(f"{book['name']} ")
    for known in get_args(Figure):
        if name == known:
            return known  # type: ignore[no-any-return]
    raise ValueError(f'the limit "{margin.limit}" is of no figure that a page can measure')


def possible(map_: LinearMap, limits: Sequence[Measures]) -> tuple[Margin, ...]:
    """Return a margin for each limit that any ball of `map_` can be held to.

    A limit on an axis is left out of a ball's margins where it has none, so a rod is measured that
    has all axes. Bounds, tolerances and the mould's own figures are those of `map_`.
    """
    lean = Placement(rotate=(0.0 if map_.aligned else 30.0, 0.0, 0.0)).matrix
    rod = Moments.symmetric(1.0, 1.0, 1.0, 9.0).moved(lean)
    rods = replace(map_, moments=np.tile(rod.J, (len(map_.pours), 1, 1)))
    return margins(rods.ball(np.ones(len(map_.pours))), limits)
