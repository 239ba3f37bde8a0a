"""Balls to measure: aligned, tilted and off the pin axis."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from oracles.lineups import manufactured

from optimizer.ball.weight_class import Ball
from optimizer.scenario import linear_maps, scenario


@pytest.fixture(scope="session")
def ball() -> Callable[..., Ball]:
    """Return a function that makes a ball of a kind, at densities that nothing is special about."""

    def make(kind: str, **changes: object) -> Ball:
        line, densities = manufactured(np.random.default_rng(len(kind)), kind, "cg")
        free = line.but(rg=(6.2, 6.8), differential=(0.01, 0.5)).but(**changes)
        linear_map = linear_maps(scenario(free.text(), file="line.toml", target_required=True))[0]
        return linear_map.ball(np.array(densities))

    return make
