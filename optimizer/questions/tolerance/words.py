"""How shares and inputs are told."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import listed
from optimizer.questions.tolerance.gathered import WeightSpread
from optimizer.scatter.inputs import RADIAN, Input
from optimizer.spread.distribution import Distribution, Normal, Triangular, Uniform
from optimizer.spread.simulation import Share
from shared.rounding import fixed

if TYPE_CHECKING:
    from optimizer.questions.tolerance.finding import LineSpread

DEGREES = Unit("°", RADIAN, 2)
CLOSE = 0.01
"""Relative: standard deviations that agree to this show that a figure is linear."""


def percent(share: Share) -> str:
    """Return a share in per cent; none, or all, as the bound that the simulation gives."""
    if share.count == 0:
        return f"under {_small(share.high)} %"
    if share.count == share.of:
        return f"over {fixed(100.0 * share.low, _nines(share.low))} %"
    digits = max(_nines(share.value), _nines(1.0 - share.value))
    return f"{fixed(100.0 * share.value, digits)} %"


def interval(share: Share) -> str:
    """Return the interval of a share, in per cent."""
    low, high = 100.0 * share.low, 100.0 * share.high
    digits = max(1 if high - low > 0.04 else 2, _nines(share.low), _nines(1.0 - share.high))
    return f"{fixed(low, digits)} to {fixed(high, digits)}"


def _small(value: float) -> str:
    return f"{100.0 * value:.1g}"


def _nines(value: float) -> int:
    """Return the digits with which a share in per cent isn't told as 100."""
    return min(8, max(1, math.ceil(-math.log10(max(100.0 * (1.0 - value), 1e-8)))))


def unit_of(figure: str, units: Units) -> Unit:
    """Return the unit of one of the FIGURES."""
    if figure == "weight":
        return units.mass
    if figure == "top weight":
        return units.imbalance
    if figure == "CG offset":
        return units.length
    return DEGREES if figure == "axis tilt" else units.rg


def input_unit(input_: Input, units: Units) -> Unit:
    """Return the unit of an input."""
    if input_.kind in ("density", "batch"):
        return units.density
    if input_.kind == "scale":
        return units.mass
    return DEGREES if input_.kind == "tilt" else units.length


def law(input_: Input, units: Units) -> str:
    """Return an input's distribution in words."""
    return law_of(input_, input_.law, units)


def law_of(input_: Input, its: Distribution, units: Units, more: int = 0) -> str:
    """Return a distribution of an input in words, with so many digits `more` than usual."""
    unit = input_unit(input_, units).finer(more)
    match its:
        case Uniform(half=half):
            return f"±{unit.exact(half)}, uniform"
        case Triangular(half=half):
            return f"±{unit.exact(half)}, triangular"
        case Normal(deviation=sd, bound=bound) if math.isfinite(bound):
            return f"normal, sd {unit.told(sd, 1)}, within ±{unit.exact(bound)}"
        case Normal(deviation=sd):
            return f"normal, sd {unit.told(sd, 1)}"
    raise ValueError(type(its).__name__)


def known(input_: Input) -> str:
    """Return how an input's spread is known."""
    if input_.law.count is not None:
        return f"measured on {input_.law.count}"
    return "as stated" if input_.stated else "declared ±, assumed"


def together(found: LineSpread, names: Mapping[str, str]) -> tuple[str, ...]:
    """Return what varies together: in weights of one batch or mould, and what is correlated."""
    shared = [
        f"{input_.name} is off by the same at {listed([names[label] for label in group])}: one "
        f"{'batch' if input_.kind == 'density' else 'mould'}."
        for input_ in found.inputs.each
        for group in input_.groups
        if len(group) > 1
    ]
    spread = found.scenario.text.spread
    linked = [
        f"{listed(text.between)} vary together: a coefficient of correlation of {text.r:g}."
        for text in (() if spread is None else spread.correlation)
    ]
    return (*shared, *linked)


def disagreement(weight: WeightSpread) -> str | None:
    """Return why the answer to first order differs from the simulation, None where it doesn't."""
    if weight.good.low <= weight.linear <= weight.good.high:
        return None
    figures = {band.figure for band in weight.bands if band.rule is None}
    bent = [
        figure
        for figure in figures
        if abs(weight.simulated[figure].sd - weight.sd[figure]) > CLOSE * weight.sd[figure]
    ]
    normal = all(isinstance(i.law, Normal) and math.isinf(i.law.most) for i in weight.model.inputs)
    if bent:
        return f"{', '.join(sorted(bent))} bend within the spread"
    if not normal:
        return "the figures are linear, but not normal, since not all that varies is"
    return "the figures bend a little within the spread"
