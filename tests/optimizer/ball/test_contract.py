"""What every limit must keep to, walked over the union of all limits: a new one is tested too."""

from __future__ import annotations

import types
import typing

import numpy as np
import pytest
from asked import margins_of

from optimizer.ball.limits import DensityRange, Limit, LimitsText, Rulebook
from optimizer.ball.limits.base import FigureLimit

KINDS = ["aligned", "aligned triaxial", "tilted 15", "triaxial", "off axis"]
UNITS = {"density", "length", "rg", "mass", "imbalance"}


def _limits():
    """The limit of each field of [limits], and the one that is always held."""
    found = [DensityRange]
    for name, field in LimitsText.model_fields.items():
        kinds = [k for k in typing.get_args(field.annotation) if isinstance(k, type)]
        some = [k for k in kinds if issubclass(k, Limit)]
        assert len(some) == 1, f"the field {name} is no limit"
        assert some[0].key == name
        found += some
    return found


def test_the_union_is_walked():
    """Every class of limit there is has its key in [limits]: one that isn't held is a mistake."""
    assert isinstance(LimitsText.model_fields["wall"].annotation, types.UnionType | type)
    assert set(_limits()) == {*Limit.__subclasses__(), *FigureLimit.__subclasses__()} - {
        FigureLimit
    }


@pytest.mark.parametrize("limit", _limits(), ids=lambda limit: limit.key)
def test_an_example_builds_and_is_held(limit):
    example = limit.example()
    assert isinstance(example, limit)
    if limit is not DensityRange:
        assert example in LimitsText.model_construct(**{limit.key: example}).held
    assert isinstance(LimitsText().held[0], DensityRange)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("limit", _limits(), ids=lambda limit: limit.key)
def test_a_margin_is_finite_and_says_what_it_is_of(ball, limit, kind):
    one = ball(kind)
    found = margins_of(limit.example(), one)
    assert found
    names = {part.name for part in one.map.parts}
    for margin in found:
        assert np.isfinite(margin.slack)
        assert margin.quantity in UNITS
        assert margin.weight == one.map.label
        assert margin.bound.side in {"min", "max"}
        sign = 1.0 if margin.bound.side == "min" else -1.0
        slack = sign * (margin.value - margin.edge)
        assert margin.slack == pytest.approx(slack, abs=2e-7)  # a wall takes its error off
        assert margin.slack <= slack + 1e-12
        parts = (margin.part,) if isinstance(margin.part, str) else margin.part or ()
        assert names.issuperset(parts)
        if margin.tolerance is not None:
            assert margin.tolerance > 0
            assert margin.tolerances == pytest.approx(margin.slack / margin.tolerance)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("limit", _limits(), ids=lambda limit: limit.key)
def test_a_gradient_is_the_derivative_of_the_slack(ball, limit, kind):
    """Central differences in each density; no gradient means that no density moves it.

    The class weight and the pin marking are given figures.
    """
    one, h = ball(kind), 1e-5
    example = limit.example()

    def slacks(densities):
        return np.array([m.slack for m in margins_of(example, one.map.ball(densities))])

    steps = h * np.eye(len(one.densities))
    slopes = np.array(
        [(slacks(one.densities + s) - slacks(one.densities - s)) / (2 * h) for s in steps]
    )
    for margin, slope in zip(margins_of(example, one), slopes.T, strict=True):
        if margin.gradient is not None:
            size = 1.0 + float(np.max(np.abs(margin.gradient)))
            assert np.allclose(slope, margin.gradient, rtol=1e-5, atol=1e-6 * size), margin.words
        elif not (isinstance(example, Rulebook) and margin.rule_only):
            assert np.allclose(slope, 0.0, atol=1e-9), margin.words
