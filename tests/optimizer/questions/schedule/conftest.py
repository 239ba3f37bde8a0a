"""The example, solved: as it is, and with one density far off."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from answers import solved
from optimizer_texts import plain_juniper

from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.lineup.stating import measured


@pytest.fixture(scope="session")
def juniper() -> LineupResult:
    """Return the example's line-up, without recipes or steps."""
    return solved(plain_juniper())


@pytest.fixture(scope="session")
def juniper_weight(juniper: LineupResult) -> WeightResult:
    """Return its first weight."""
    return juniper.weights[0]


@pytest.fixture(scope="session")
def out_by_much(juniper: LineupResult) -> WeightResult:
    """Return the same, with a cover that is too light by 0.1 g/cm³."""
    ball = juniper.weights[0].ball
    lighter = replace(ball, densities=ball.densities - 0.1 * np.eye(len(ball.densities))[0])
    return measured(lighter, np.array(juniper.figures))
