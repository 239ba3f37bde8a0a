"""Spreads that the mould has no room for, on a sphere in a sphere: its wall is R − r − |c|."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from tolerance_texts import BALL

from optimizer.questions.tolerance.misfits import misfits
from optimizer.scatter.line import Line
from shared.errors import InputError

Lined = Callable[..., Line]
INCH = 2.54
SPHERE = BALL.replace(
    'kind = "ellipsoid", diameters = [4.4, 5.0, "tall"]', 'kind = "sphere", diameter = "tall"'
).replace("at = [0.1, 0.05, 0.2]", "at = [0, 0, 0.2]")
WALL = 8.58 / 2 - 6.0 / 2 - 0.2


@pytest.mark.parametrize(
    ("spread", "end"),
    [
        ("position.block.z = 1.3", 1.3),
        ("centre.z = 1.3", 1.3),
        ("position.block.z = { sd = 0.4 }", 1.2),  # at three standard deviations
        ("position.block.z = { sd = 0.4, bound = 1.15 }", 1.15),
        ("diameter = 3.0", 1.5),
        ("dimensions.tall = 2.4", 1.2),
    ],
)
def test_a_part_that_sticks_out_at_the_end_of_a_spread_is_told(
    lined: Lined, spread: str, end: float
) -> None:
    (misfit,) = misfits(lined(f"[spread]\n{spread}\n", ball=SPHERE))
    assert misfit.wall.between == ("block", "cover")
    assert misfit.wall.thickness == pytest.approx((WALL - end) * INCH, abs=1e-6)


@pytest.mark.parametrize("spread", ["position.block.z = 1.0", "tilt.block = 40.0", "diameter = 2"])
def test_what_has_room_is_no_misfit(lined: Lined, spread: str) -> None:
    """A sphere that leans about its own middle stays where it is."""
    assert misfits(lined(f"[spread]\n{spread}\n", ball=SPHERE)) == ()


def test_a_part_larger_than_its_host_is_an_error(lined: Lined) -> None:
    line = lined("[spread]\ndimensions.tall = 3.0\n", ball=SPHERE.replace("6.0", "7.0"))
    with pytest.raises(InputError, match="spread tall dimension: there is no such ball at 15"):
        next(iter(line.outcomes(np.zeros((1, 3)))))


@pytest.mark.parametrize("kind", ["diameter", "position.block", "tilt.block", "dimensions.tall"])
def test_a_spread_of_next_to_nothing_does_next_to_nothing(lined: Lined, kind: str) -> None:
    """Its square is less than the least number."""
    (model,) = lined(f"[spread]\n{kind} = 1e-200\n", ball=SPHERE).models
    deviations = np.zeros((2, len(model.inputs)))
    deviations[1] = [input_.law.sd for input_ in model.inputs]
    deviations[1, [i for i, own in enumerate(model.inputs) if own.kind == "density"]] = 0.0
    for values in model.figures(deviations, model.balls(deviations)).values():
        assert values[1] == pytest.approx(values[0], rel=1e-12, nan_ok=True)
