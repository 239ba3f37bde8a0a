"""The next pour for the same moulds: set-points with the shop's bias taken out, on its steps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

import numpy as np

from geometry.many_balls import ManyBalls, rows_of
from optimizer.ball.bounds import Margin
from optimizer.ball.figures import DENSITY
from optimizer.ball.sought import Pour
from optimizer.ball.weight_class import Ball
from optimizer.lineup.margins import margins, outside, stated
from optimizer.lineup.result import LineupResult
from optimizer.questions.reconcile.aimed import Aimed
from optimizer.questions.reconcile.next.bias import Bias
from optimizer.questions.schedule.pouring.casting import Casting, castings
from optimizer.questions.schedule.pouring.shop import Shop
from optimizer.scatter.good import Band
from optimizer.scatter.model import Model
from shared.arrays import Array
from shared.tolerances import ARITHMETIC

TRIED: Final = 20_000
"""Combinations of steps that are tried in a weight, at most."""
NEAREST: Final = 6
"""Steps of one density that are tried, at most."""


@dataclass(frozen=True)
class SetPoint:
    """A part's density as mixed, g/cm³: `old`, `new`, and the `asked` one before steps and ends.

    `beyond`: the asked one can't be mixed. The new one need not be the nearest that can: with the
    others it comes nearest to the target.
    """

    part: str
    old: float
    asked: float
    new: float
    beyond: bool


@dataclass(frozen=True, eq=False)
class NextPour:
    """One weight's next ball: its set-points, and what is expected of it with the bias.

    `before` and `after` are the figures (FIGURES of a model) as expected of the old set-points and
    of the new ones; `old` and `new` the castings, with what is weighed out for one ball. `broken`
    are the limits that a ball of the new set-points is expected to break.
    """

    label: str
    bands: tuple[Band, ...]
    points: tuple[SetPoint, ...]
    before: Mapping[str, float]
    after: Mapping[str, float]
    old: tuple[Casting, ...]
    new: tuple[Casting, ...]
    broken: tuple[Margin, ...]

    @property
    def targets(self) -> tuple[Band, ...]:
        """The target's bands."""
        return tuple(band for band in self.bands if band.rule is None)

    @property
    def missed(self) -> tuple[Band, ...]:
        """The target's bands that the new set-points miss."""
        return tuple(
            band for band in self.targets if not band.low <= self.after[band.figure] <= band.high
        )


def next_pours(aimed: Aimed, result: LineupResult, biases: Sequence[Bias]) -> tuple[NextPour, ...]:
    """Return the next ball of each weight.

    Set-points aim at the densities of `result`, whatever was aimed at before. Weights that share a
    density share its set-point. Raises InputError where the mixer doesn't hold one ball's pour.
    """
    off = {bias.part: bias.mean for bias in biases}
    wanted = {weight.label: weight.ball.densities for weight in result.weights}
    shared = _shared(aimed, wanted, off)
    return tuple(
        _next(aimed, model, wanted[label], off, shared) for label, model in aimed.models.items()
    )


def _shared(
    aimed: Aimed, wanted: Mapping[str, Array], off: Mapping[str, float]
) -> dict[tuple[str, str], float]:
    """Return the set-point of each part and weight that others share."""
    return {
        (part, label): _nearest(pour, _asked(pour, place, wanted[group[0]], off), 1)[0]
        for part, groups in aimed.scenario.sharing.items()
        for group in groups
        if len(group) > 1
        for place, pour in enumerate(aimed.models[group[0]].ball.map.pours)
        if pour.part == part
        for label in group
    }


def _asked(pour: Pour, place: int, wanted: Array, off: Mapping[str, float]) -> float:
    return float(wanted[place]) - off.get(pour.part, 0.0)


def _next(
    aimed: Aimed,
    model: Model,
    wanted: Array,
    off: Mapping[str, float],
    shared: Mapping[tuple[str, str], float],
) -> NextPour:
    pours, bands = model.ball.map.pours, aimed.bands[model.label]
    bias = np.array([off.get(pour.part, 0.0) for pour in pours])
    asked = wanted - bias
    stepped = sum(pour.step is not None and not pour.fixed for pour in pours)
    many = max(2, min(NEAREST, int(TRIED ** (1.0 / max(stepped, 1)))))
    choices = []
    for k, pour in enumerate(pours):
        tied = shared.get((pour.part, model.label))
        choices.append([tied] if tied is not None else _nearest(pour, float(asked[k]), many))
        if 2 ** sum(len(choice) > 1 for choice in choices) > TRIED:
            choices[-1] = choices[-1][:1]
    new = _best(model, bands, np.array(list(product(*choices))), bias, asked)
    points = tuple(
        SetPoint(
            pour.part,
            float(model.ball.densities[k]),
            float(asked[k]),
            float(new[k]),
            not pour.fixed and not pour.low - ARITHMETIC <= asked[k] <= pour.high + ARITHMETIC,
        )
        for k, pour in enumerate(pours)
    )
    shop, old = Shop(aimed.scenario), model.ball.densities
    return NextPour(
        model.label,
        bands,
        points,
        _expected(model, old + bias),
        _expected(model, new + bias),
        _castings(model, old, shop),
        _castings(model, new, shop),
        _broken(model.ball.map.ball(new + bias)),
    )


def _nearest(pour: Pour, asked: float, many: int) -> list[float]:
    """Return the set-points nearest to the one asked for, as the shop can hold them."""
    if pour.fixed:
        return [pour.low]
    inside = min(max(asked, pour.low), pour.high)
    if pour.step is None:
        return [stated(inside, pour.low, pour.high)]
    first, last = (
        np.ceil(pour.low / pour.step - ARITHMETIC),
        np.floor(pour.high / pour.step + ARITHMETIC),
    )
    middle = round(inside / pour.step)
    counts = [k for k in range(middle - many, middle + many + 1) if first <= k <= last]
    counts.sort(key=lambda k: abs(k * float(pour.step or 0.0) - inside))
    return [round(k * pour.step, 9) for k in counts[:many]] or [inside]


def _best(model: Model, bands: Sequence[Band], tried: Array, bias: Array, asked: Array) -> Array:
    """Return the set-points (n,) of those tried (k, n) that come nearest to the target."""
    ball = model.ball
    rows = (tried + bias) @ rows_of(ball.map.moments)
    figures = replace(model, inputs=(), columns=()).figures(
        np.zeros((len(tried), 0)), ManyBalls(rows, ball.map.about)
    )
    off = np.zeros(len(tried))
    for band in bands:
        if band.rule is None:
            middle, half = (band.low + band.high) / 2.0, (band.high - band.low) / 2.0
            off = np.maximum(off, np.abs(figures[band.figure] - middle) / half)
    far = np.abs(tried - asked).sum(axis=1)
    order = np.lexsort((far, np.round(off, 9)))
    return np.asarray(tried[order[0]])


def _expected(model: Model, densities: Array) -> dict[str, float]:
    """Return the figures of a ball of these densities."""
    return replace(model, ball=model.ball.map.ball(densities)).nominal


def _broken(ball: Ball) -> tuple[Margin, ...]:
    """Return the limits that a ball breaks, but for those on what can be mixed: it is cast."""
    return tuple(
        margin
        for margin in margins(ball)
        if margin.movable and outside(margin)
        if margin.bound.figure != DENSITY or margin.bound.rule is not None
    )


def _castings(model: Model, densities: Array, shop: Shop) -> tuple[Casting, ...]:
    names = [pour.part for pour in model.ball.map.pours]
    return castings(model.ball.map, dict(zip(names, densities.tolist(), strict=True)), shop, 1)
