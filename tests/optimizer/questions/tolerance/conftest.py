"""Lines with a [spread], at densities that are given."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from optimizer_texts import head
from tolerance_texts import BALL, DENSITIES, EVERYTHING, lineup

from optimizer.questions.tolerance.inputs import stated_inputs
from optimizer.questions.tolerance.line import Line


@pytest.fixture
def lined() -> Callable[..., Line]:
    """A function that gives the line of a [spread], of balls at densities that are given."""

    def build(
        spread: str = EVERYTHING,
        ball: str = BALL,
        weights: dict[str, float] | None = None,
        densities: tuple[float, ...] = DENSITIES,
        about: str = "cg",
    ) -> Line:
        text = head("Alder", weights or {"15": 15.1}, (2.55, 0.03), about=about)
        result = lineup(text + ball + spread, densities)
        return Line.of(result, stated_inputs(result.scenario))

    return build
