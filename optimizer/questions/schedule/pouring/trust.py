"""How far the table for a half-cast ball may be trusted: it is followed, and the balls measured."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import product
from typing import Final

import numpy as np

from optimizer.lineup.margins import Deviation
from optimizer.questions.schedule.pouring.half_cast import HalfCast
from optimizer.scatter.inputs import Input
from optimizer.scatter.line import Line
from optimizer.spread.sources import SEED
from shared.arrays import Array
from shared.rounding import rounded

ALL: Final = 10
"""Castings of which every combination is tried; of more, so many combinations as of these."""
SIGMAS: Final = 3.0
"""Standard deviations that count as the ± of a density whose distribution has no ends."""
SHARES: Final = tuple(k / 20 for k in range(1, 21))
"""Shares of their ± by which all castings are off at once."""
FARTHEST: Final = 10
"""A casting by itself is tried up to so many times its ±..."""
UNSTATED: Final = 0.01
"""...which counts as this share of its mass where it isn't known."""


@dataclass(frozen=True)
class AtWorst:
    """How far a figure of the target is off at worst where all castings are off at once, g or cm.

    `true`: with the table, where the pours after the last weighing are as dense as asked for.
    """

    target: Deviation
    without: float
    followed: float
    true: float


@dataclass(frozen=True)
class Alone:
    """By how many grams a casting alone may be off; `ends` is False where it may be by more."""

    grams: Decimal
    ends: bool


@dataclass(frozen=True)
class Trust:
    """How far a table may be trusted: with all castings off by their ± at once, and with one.

    `grams` are the ± of the castings that vary; `endless` where one of them has no ends. Of their
    combinations `tried` were tried, `whole` if these are all. Every target holds, with pours that
    can be mixed, while no casting is off by more than the share `held` of its ±: `between` where
    set-points may lie between their steps, `untouched` without the table; 0 where none of the
    SHARES will do. `alone`: how much each weighed casting by itself may be too light and too heavy.
    """

    grams: dict[str, float]
    endless: bool
    tried: int
    whole: bool
    worst: tuple[AtWorst, ...]
    held: float
    between: float
    untouched: float
    alone: dict[str, tuple[Alone, Alone]]


def trust(table: HalfCast, targets: Sequence[Deviation]) -> Trust:
    """Return how far a table may be trusted to hold those targets that have tolerances."""
    return _Trial(table).trust([off for off in targets if off.tolerance is not None])


class _Trial:
    """Balls cast by a table. Deviations of densities (k, n) are in the order of casting, g/cm³."""

    def __init__(self, table: HalfCast) -> None:
        self.table, self.model, self.order = table, table.model, table.order
        self.halves = np.array([self._half(part) for part in self.order])
        none = np.zeros((1, len(self.order)))
        at, figures = self._deviations(none), self._figures(none)
        self.bands = [band for band in table.bands if band.holds(figures[band.figure])[0]]
        self.ruled = bool(Line.ruled(self.model, at)[0])

    def _half(self, part: str) -> float:
        """Return the ± of a part's density."""
        return sum(map(_most, (each for each in self.model.inputs if each.of == part)))

    def _deviations(self, off: Array) -> Array:
        """Return the deviations of the line's sources (k, d)."""
        columns = {
            input_.of: column
            for input_, column in zip(self.model.inputs, self.model.columns, strict=True)
            if input_.kind == "density"
        }
        deviations = np.zeros((len(off), max(self.model.columns) + 1))
        for densities, part in zip(off.T, self.order, strict=True):
            if part in columns:
                deviations[:, columns[part]] = densities
        return deviations

    def _figures(self, off: Array) -> dict[str, Array]:
        at = self._deviations(off)
        return self.model.figures(at, self.model.balls(at))

    def _good(self, off: Array, mixable: np.ndarray) -> np.ndarray:
        """Whether balls (k,) keep the targets and the rules that the ball as scheduled keeps."""
        figures = self._figures(off)
        good = mixable & np.all([b.holds(figures[b.figure]) for b in self.bands], axis=0)
        ruled = Line.ruled(self.model, self._deviations(off)) if self.ruled else True
        return np.asarray(good & ruled)

    def trust(self, targets: Sequence[Deviation]) -> Trust:
        """Return what was found."""
        varying = np.flatnonzero(self.halves)
        corners = np.zeros((2 ** min(len(varying), ALL), len(self.order)))
        corners[:, varying] = _signs(len(varying))
        corners *= self.halves
        grams = self.halves * np.diag(self.table.pieces)
        return Trust(
            {self.order[k]: float(grams[k]) for k in varying},
            not all(math.isfinite(each.law.most) for each in self.model.inputs),
            len(corners),
            len(varying) <= ALL,
            tuple(self._worst(corners, targets)),
            self._held(corners),
            self._held(corners, on_steps=False),
            self._held(corners, followed=False),
            {part: self._alone(part) for part in self.table.weighed},
        )

    def _worst(self, corners: Array, targets: Sequence[Deviation]) -> list[AtWorst]:
        last = self.order.index(self.table.weighed[-1]) + 1
        ways = [
            self._figures(self.table.cast(errors, followed=followed)[0])
            for errors, followed in (
                (corners, False),
                (corners, True),
                (np.where(np.arange(len(self.order)) < last, corners, 0.0), True),
            )
        ]
        return [
            AtWorst(
                off, *(float(np.max(np.abs(way[off.figure.words] - off.asked))) for way in ways)
            )
            for off in targets
        ]

    def _held(self, corners: Array, **how: bool) -> float:
        """Return the share of their ± up to which all balls, cast so, are good."""
        kept = 0.0
        for share in SHARES:
            if not np.all(self._good(*self.table.cast(share * corners, **how))):
                break
            kept = share
        return kept

    def _alone(self, part: str) -> tuple[Alone, Alone]:
        """Return how much too light and too heavy a casting by itself may be."""
        k = self.order.index(part)
        volume = float(self.table.pieces[k, k])
        most = float(self.halves[k]) * volume or UNSTATED * float(self.table.out[k])
        digits = 1 - math.floor(math.log10(most))
        steps = np.arange(1, 1 + int(FARTHEST * most * 10.0**digits))
        ends = []
        for sign in (-1.0, 1.0):
            errors = np.zeros((len(steps), len(self.order)))
            errors[:, k] = sign * steps * 10.0**-digits / volume
            bad = np.flatnonzero(~self._good(*self.table.cast(errors)))
            count = int(bad[0]) if len(bad) else len(steps)
            ends.append(Alone(rounded(sign * count * 10.0**-digits, max(digits, 0)), len(bad) > 0))
        return ends[0], ends[1]


def _most(input_: Input) -> float:
    """Return the most that an input may be off."""
    return input_.law.most if math.isfinite(input_.law.most) else SIGMAS * input_.law.sd


def _signs(count: int) -> Array:
    """Return combinations of signs of `count` castings: all, or some that are always the same."""
    if count <= ALL:
        return np.array(list(product((-1.0, 1.0), repeat=count)))
    return np.random.default_rng(SEED).choice((-1.0, 1.0), (2**ALL, count))
