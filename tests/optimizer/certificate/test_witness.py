"""Line-ups that exist are measured as numpy and the oracle measure them."""

from __future__ import annotations

from fractions import Fraction
from random import Random

import numpy as np
import pytest
from known_balls import RADIUS, SHAPES, moments, solids
from oracles.balls import weight_and_radii

from optimizer.certificate.forms import FEATURES, NotProven
from optimizer.certificate.question import Ball, Question
from optimizer.certificate.witness import NEAR, check_witness, measured

WIDE = [0.0, 100.0]


def _asked(every, about, **more) -> Question:
    """A question of one ball, that asks for nothing but what is said."""
    size = len(every)
    told = [[float(x) for x in moments(every, j)] for j in range(size)]
    aligned = not any(part[i] for part in told for i in (1, 2, 7, 8, 9))
    ball = Ball.read({
        "radius": RADIUS, "aligned": aligned, "errors": [0.0, 0.0, 0.0], "moments": told
    })  # fmt: skip
    question = {
        "balls": ["a"], "columns": [list(range(size))], "densities": [[0.0, 30.0]] * size,
        "limits": [], "about_cg": [about == "cg"], "figures": [WIDE] * 3, "off": [0.0] * 3,
        "asked": True, "offset": [0.0, None],
    }  # fmt: skip
    return Question.read(question | more, {"a": ball})


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("shape", [*SHAPES, "sphere"])
def test_figures_are_those_of_the_oracle_and_of_numpy(shape, about):
    """Also where two RGs, or all three, are the same, and where no axis is the pin's."""
    for number in range(40):
        random = Random(number)  # noqa: S311 - the same again
        every = solids(random, shape) if shape in SHAPES else solids(random, "round")[:1]
        rho = [round(random.uniform(0.1, 6.0), 9) for _ in every]
        question = _asked(every, about)
        found = measured(question, 0, [Fraction(str(x)) for x in rho])
        mass, radii, cg = weight_and_radii(every, rho, about)
        assert float(found.mass) == pytest.approx(mass, rel=1e-10)
        assert [float(r) for r in found.radii] == pytest.approx(radii, abs=1e-9)
        assert float(found.offset) == pytest.approx(np.linalg.norm(cg), abs=1e-9)
        values = rho @ np.array([[float(x) for x in moments(every, j)] for j in range(len(rho))])
        m, x, y, z, xx, yy, zz, xy, xz, yz = dict(zip(FEATURES, values, strict=True)).values()
        second = np.array([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]])
        second -= np.outer((x, y, z), (x, y, z)) / m * (about == "cg")
        inertia = np.trace(second) * np.eye(3) - second
        own = np.sqrt(np.linalg.eigvalsh(inertia / m))
        assert [float(r) for r in found.radii] == pytest.approx(own, abs=1e-9)


@pytest.mark.parametrize("i", [0, 1, 2])
@pytest.mark.parametrize("sign", [-1, 1])
@pytest.mark.parametrize("shape", ["triaxial", "off axis"])
def test_a_figure_that_is_missed_by_more_than_it_may_is_seen(shape, sign, i):
    """By twice that much; by half of it is near enough."""
    near = float(NEAR)
    for number in range(10):
        random = Random(number)  # noqa: S311 - the same again
        every = solids(random, shape)
        rho = [round(random.uniform(0.5, 4.0), 9) for _ in every]
        low, middle, high = weight_and_radii(every, rho, "cg")[1]
        value = float((low, high - low, high - middle)[i])
        for off, held in ((0.5 * near, True), (2.0 * near, False)):
            figures = [WIDE] * 3
            end = value + sign * off
            if end < 0.0:
                continue
            figures[i] = [end, 50.0] if sign > 0 else [0.0, end]
            question = _asked(every, "cg", figures=figures)
            if held:
                check_witness(question, rho)
            else:
                with pytest.raises(NotProven, match=r"RG|differential"):
                    check_witness(question, rho)
