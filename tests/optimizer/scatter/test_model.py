"""One weight's ball as a function of what varies, against nested ellipsoids measured one by one."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

import numpy as np
import pytest
from tolerance_texts import BALL, by_oracle

from optimizer.scatter.line import Line
from optimizer.scatter.model import FIGURES, Model
from optimizer.scatter.worst import missed, worst

Lined = Callable[..., Line]
KINDS = {
    "cover density", "block density", "block density within a batch", "block position x",
    "block position y", "block position z", "block tilt x", "block tilt y", "tall dimension",
    "diameter", "centre z", "scale",
}  # fmt: skip


def figures(model: Model, every: np.ndarray) -> dict[str, np.ndarray]:
    """The figures of balls whose own inputs are off by `every` (k, d)."""
    deviations = np.zeros((len(every), max(model.columns) + 1))
    deviations[:, list(model.columns)] = every
    return model.figures(deviations, model.balls(deviations))


def exact(model: Model, every: np.ndarray) -> dict[str, np.ndarray]:
    """The same by the oracle."""
    names = [input_.name for input_ in model.inputs]
    about = model.ball.map.about
    balls = [by_oracle(dict(zip(names, row, strict=True)), about) for row in every.tolist()]
    return {figure: np.array([ball[figure] for ball in balls]) for figure in FIGURES}


@pytest.fixture
def model(lined: Lined) -> Model:
    """The ball with everything spread."""
    return lined().models[0]


def test_everything_that_is_spread_is_an_input(model: Model) -> None:
    assert {input_.name for input_ in model.inputs} == KINDS


@pytest.mark.parametrize("about", ["cg", "centre"])
def test_one_input_off_is_exact(lined: Lined, about: str) -> None:
    """Densities anywhere; lengths and angles at two standard deviations, or a nearer end.

    Those of a displacement are exact everywhere: its moments have no higher order.
    """
    model = lined(about=about).models[0]
    sd = np.array([input_.law.sd for input_ in model.inputs])
    far = np.minimum(2.0 * sd, [input_.law.most for input_ in model.inputs])
    every = np.vstack([np.diag(far), np.diag(-far), np.zeros(len(sd))])
    smooth = np.array([i.kind in ("density", "batch", "position", "centre") for i in model.inputs])
    every = np.vstack([every, np.diag(smooth * 5.0 * sd), np.diag(smooth * -0.7 * sd)])
    found, known = figures(model, every), exact(model, every)
    for figure in FIGURES:
        assert found[figure] == pytest.approx(known[figure], rel=1e-7, abs=1e-8), figure


def test_all_off_at_once_leave_out_only_products_of_two(model: Model) -> None:
    """A density's with a length's are in; those of two displacements are not.

    What is left out, at the worst of 200 balls, is a fiftieth of the standard deviation; of the
    axis's angle, which goes by products of two displacements, a fifth.
    """
    random = np.random.default_rng(5)
    sd = np.array([input_.law.sd for input_ in model.inputs])
    every = random.uniform(-np.sqrt(3), np.sqrt(3), (200, len(sd))) * sd
    found, known = figures(model, every), exact(model, every)
    for figure in FIGURES:
        off = np.abs(found[figure] - known[figure])
        most = 0.2 if figure == "axis tilt" else 0.02
        assert off.max() < most * known[figure].std(), figure
    deviations = np.zeros((200, max(model.columns) + 1))
    deviations[:, list(model.columns)] = every
    told = missed(model, deviations)
    for figure in FIGURES:
        off = np.abs(found[figure] - known[figure])[:8].max()
        assert told[figure] == pytest.approx(off, rel=1e-3, abs=1e-8), figure


def test_slopes_are_the_oracles_differences(model: Model) -> None:
    """Of central differences over a thousandth of a standard deviation."""
    step = 1e-3 * np.array([input_.law.sd for input_ in model.inputs])
    more, less = exact(model, np.diag(step)), exact(model, np.diag(-step))
    for figure in FIGURES:
        known = (more[figure] - less[figure]) / (2.0 * step)
        one_sd = model.slopes[figure] * step * 1e3, known * step * 1e3
        most = np.abs(one_sd[1]).max()
        assert one_sd[0] == pytest.approx(one_sd[1], abs=2e-4 * most), figure


def test_the_nominal_ball_is_the_oracles(model: Model) -> None:
    known = by_oracle({})
    for figure in FIGURES:
        assert model.nominal[figure] == pytest.approx(known[figure], rel=1e-9), figure


FEW = """\
[spread]
density = { cover = 0.012, block = 0.03 }
position.block = { x = 0.05, z = 0.02 }
tilt.block = 0.5
diameter = 0.005
"""
ON_THE_AXIS = BALL.replace("at = [0.1, 0.05, 0.2]\nrotate = [20, 0, 0]", "at = [0, 0, 0.2]")
ROUND = ON_THE_AXIS.replace("diameters = [4.4, 5.0,", "diameters = [4.4, 4.4,")


@pytest.mark.parametrize("ball", [BALL, ON_THE_AXIS, ROUND], ids=["off", "on the axis", "round"])
def test_the_worst_case_is_that_of_all_corners(lined: Lined, ball: str) -> None:
    """By brute force: each input at either end or nominal, 3⁷ balls.

    On the pin axis a displacement to the side has no slope, but makes an offset and a tilt.
    """
    model = lined(FEW, ball).models[0]
    most = np.array([input_.law.most for input_ in model.inputs])
    every = np.array(list(product((-1.0, 0.0, 1.0), repeat=len(most)))) * most
    found, ends = figures(model, every), worst(model)
    assert ends is not None
    for figure in FIGURES:
        known = np.nanmin(found[figure]), np.nanmax(found[figure])
        assert ends[figure] == pytest.approx(known, rel=1e-12, abs=1e-12), figure
        assert ends[figure][0] <= model.nominal[figure] <= ends[figure][1]


def test_an_input_without_an_end_has_no_worst_case(lined: Lined) -> None:
    assert worst(lined("[spread]\ndiameter = { sd = 0.002 }\n").models[0]) is None
    bounded = "[spread]\ndiameter = { sd = 0.002, bound = 0.004 }\n"
    assert worst(lined(bounded).models[0]) is not None
