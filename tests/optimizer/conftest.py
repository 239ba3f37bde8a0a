"""Line-ups for the writers: real types, densities chosen here, everything else measured."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import tolerance_texts
from optimizer_texts import METRIC, head

from optimizer.lineup.result import Infeasible, LineupResult, Search
from optimizer.lineup.stating import measured
from optimizer.scatter.inputs import stated_inputs
from optimizer.scatter.line import Line
from optimizer.scenario import linear_maps, scenario
from shared.arrays import frozen

ELLIPSOIDS = """\
[materials.shell]
density = [1.1, 1.3]
tolerance = 0.01
[materials.filled]
density = [0.6, 2.9]
tolerance = 0.02
[[parts]]
name = "cover"
shape = { kind = "sphere", diameter = 8.58 }
material = "shell"
[[parts]]
name = "block"
inside = "cover"
shape = { kind = "ellipsoid", diameters = [4.4, 5.0, 6.0] }
at = [0.1, 0, 0.2]
rotate = [20, 0, 0]
material = "filled"
[limits]
rulebook = "usbc"
top_weight = { min = 1.0, max = 4.0, tolerance = 0.25 }
wall = { min = 0.2, tolerance = 0.02 }
"""
TILTED = head("Alder", {"15": 15.1, "12": 12.1}, (2.55, 0.03), revision="B") + ELLIPSOIDS
"""Two ellipsoids, one inside the other: the oracle in oracles.balls can measure them, too."""

MILLIMETRES = head(
    "Alder",
    {"15": 6.85, "12": 5.49},
    (64.77, 0.762),
    revision="B",
    units=METRIC,
    tolerance=(0.03, 0.08, 0.03),
)
MILLIMETRES += (
    ELLIPSOIDS.replace("[1.1, 1.3]", "[1100, 1300]")
    .replace("[0.6, 2.9]", "[600, 2900]")
    .replace("tolerance = 0.01\n", "tolerance = 10\n")
    .replace("tolerance = 0.02\n", "tolerance = 20\n")
    .replace("8.58", "217.932")
    .replace("[4.4, 5.0, 6.0]", "[111.76, 127.0, 152.4]")
    .replace("[0.1, 0, 0.2]", "[2.54, 0, 5.08]")
    .replace("min = 0.2, tolerance = 0.02", "min = 5, tolerance = 0.5")
)
"""The same balls in metric units."""

DENSITIES = {"15": (1.2, 1.4), "12": (1.15, 0.9)}


@pytest.fixture
def lineup() -> Callable[..., LineupResult]:
    """A function that gives a result: text of a scenario, densities by weight, status."""

    def build(
        text: str = TILTED,
        densities: dict[str, tuple[float, ...]] = DENSITIES,
        status: str = "feasible",
    ) -> LineupResult:
        read = scenario(text, file="alder.toml", target_required=True)
        figures = frozen([span.low for span in read.target.values()])
        weights = tuple(
            measured(map_.ball(np.array(densities[map_.label])), figures)
            for map_ in linear_maps(read)
        )
        why = None
        if status != "feasible":
            why = Infeasible("proven by a test", (), weights[0].margins[:1])
        search = Search(complete=True, starts=3, programs=7, solver="a solver")
        return LineupResult(
            read, status, tuple(figures.tolist()), weights, why, search, read.warnings
        )

    return build


@pytest.fixture
def tilted() -> str:
    """The text of the two ellipsoids in inches and pounds."""
    return TILTED


@pytest.fixture
def metric() -> str:
    """The text of the same two ellipsoids in metric units."""
    return MILLIMETRES


@pytest.fixture
def lined() -> Callable[..., Line]:
    """A function that gives the line of a [spread], of balls at densities that are given."""

    def build(
        spread: str = tolerance_texts.EVERYTHING,
        ball: str = tolerance_texts.BALL,
        weights: dict[str, float] | None = None,
        densities: tuple[float, ...] = tolerance_texts.DENSITIES,
        about: str = "cg",
    ) -> Line:
        text = head("Alder", weights or {"15": 15.1}, (2.55, 0.03), about=about)
        result = tolerance_texts.lineup(text + ball + spread, densities)
        return Line.of(result, stated_inputs(result.scenario))

    return build
