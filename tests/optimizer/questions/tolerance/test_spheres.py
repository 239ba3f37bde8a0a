"""Balls whose spread has a closed form: a sphere in a sphere, and figures that are linear."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from optimizer_texts import head
from tolerance_texts import lineup

from optimizer.questions.tolerance.capable import capabilities
from optimizer.questions.tolerance.finding import line_spread
from optimizer.scatter.line import Line
from optimizer.scatter.model import FIGURES
from optimizer.spread.linear import joint_share
from optimizer.spread.simulation import Moments

Lined = Callable[..., Line]
INCH, POUND = 2.54, 453.59237

LAYERS = """\
[materials.shell]
density = [1.0, 1.4]
[materials.filled]
density = [0.5, 2.0]
[[parts]]
name = "cover"
shape = { kind = "sphere", diameter = 8.58 }
material = "shell"
[[parts]]
name = "core"
inside = "cover"
shape = { kind = "sphere", diameter = 6.5 }
material = "filled"
"""
SPREAD = "[spread]\ndensity = { cover = { sd = 0.010 }, core = { sd = 0.015 } }\n"
R, r = 8.58 / 2 * INCH, 6.5 / 2 * INCH
VOLUMES = 4 / 3 * np.pi * np.array([R**3 - r**3, r**3])
INERTIAS = 8 / 15 * np.pi * np.array([R**5 - r**5, r**5])
SD = np.array([0.010, 0.015])
DENSITIES = np.array([1.2, 1.1])


def told(line: Line) -> tuple[dict[str, Moments], int]:
    """Moments of every figure of the first weight, and of how many balls."""
    found = {figure: Moments() for figure in FIGURES}
    for _, deviations in line.inputs.sources.samples():
        _, figures, _ = next(line.outcomes(deviations))
        for figure, moments in found.items():
            moments.add(figures[figure])
    return found, found["weight"].count


def test_a_sphere_in_a_sphere_has_closed_forms(lined: Lined) -> None:
    """Weight and RG of two layers of independent normal densities ρ, to five standard errors.

    The weight W = Σ Vᵢρᵢ is linear: its variance is Σ (Vᵢσᵢ)². RG² = Σ Iᵢρᵢ ÷ Σ Vᵢρᵢ is not. With
    g(ρ) = RG, its gradient is gᵢ = (Iᵢ − RG²Vᵢ)/(2 m RG), its second derivatives Hᵢⱼ follow from
    that quotient: (−2 RG gⱼVᵢ)/(2 m RG) − gᵢ(Vⱼ/m + gⱼ/RG). To second order in normals the mean is
    g + ½ Σ Hᵢᵢσᵢ² and the variance Σ gᵢ²σᵢ² + ½ Σ Hᵢⱼ²σᵢ²σⱼ². What is left out is of the fourth
    order in σ ÷ ρ, 1 %: below a standard error, as the standard deviation of n normals is known to
    1/√(2 n) of it.
    """
    line = lined(SPREAD, LAYERS, densities=tuple(DENSITIES))
    found, n = told(line)
    m, square = DENSITIES @ VOLUMES, DENSITIES @ INERTIAS / (DENSITIES @ VOLUMES)
    rg = np.sqrt(square)
    g = (INERTIAS - square * VOLUMES) / (2 * m * rg)
    H = -np.outer(VOLUMES, g) / m - np.outer(g, VOLUMES / m + g / rg)
    assert np.allclose(H, H.T, rtol=1e-12)  # derivatives of one function
    curved = 0.5 * float(np.sum(H**2 * np.outer(SD, SD) ** 2))
    known = {
        "weight": (float(m), float(np.hypot.reduce(VOLUMES * SD))),
        "low RG": (
            float(rg + 0.5 * np.diag(H) @ SD**2),
            float(np.sqrt((g * SD) @ (g * SD) + curved)),
        ),
    }
    for figure, (mean, sd) in known.items():
        assert abs(found[figure].mean - mean) < 5.0 * sd / np.sqrt(n)
        assert abs(found[figure].sd - sd) < 5.0 * sd / np.sqrt(2.0 * n)
    assert line.models[0].slopes["low RG"] == pytest.approx(g, rel=1e-9)
    assert line.models[0].slopes["weight"] == pytest.approx(VOLUMES, rel=1e-12)


def test_a_concentric_ball_has_no_axis_to_lean(lined: Lined) -> None:
    """All its RGs are one: there is no differential, and no low-RG axis in any ball."""
    found, _ = told(lined(SPREAD, LAYERS, densities=tuple(DENSITIES)))
    assert found["differential"].mean == pytest.approx(0.0, abs=1e-9)
    assert found["high RG"].sd == pytest.approx(found["low RG"].sd, rel=1e-9)
    assert np.isnan(found["axis tilt"].mean)


def test_the_weight_of_many_sources_is_their_root_sum_square(lined: Lined) -> None:
    """√Σ (slope · sd)², of uniforms too; each source's share is its square's."""
    line = lined(SPREAD.replace("{ sd = 0.010 }", "0.02") + "scale = 0.03\n", LAYERS)
    found, n = told(line)
    sds = [VOLUMES[0] * 0.02 / np.sqrt(3), VOLUMES[1] * 0.015, 0.03 * POUND / np.sqrt(3)]
    known = float(np.hypot.reduce(sds))
    assert abs(found["weight"].sd - known) < 5.0 * known / np.sqrt(2.0 * n)


def test_an_independent_sampler_agrees(lined: Lined) -> None:
    """Numpy's PCG64 draws the densities of a line's two weights, one batch of core for both.

    The share of good balls of the weight alone (an RG of ± 1 in holds any), of lines too.
    """
    text = SPREAD.replace("core = { sd = 0.015 }", 'core = { sd = 0.015, batch = "all" }')
    line = lined(text, LAYERS, {"15": 13.84, "14": 13.80}, tuple(DENSITIES))
    random, n = np.random.Generator(np.random.PCG64(11)), 1 << 20
    core = 1.1 + 0.015 * random.standard_normal(n)
    good = np.empty((2, n), dtype=bool)
    for k, pounds in enumerate((13.84, 13.80)):
        cover = 1.2 + 0.010 * random.standard_normal(n)
        mass = cover * VOLUMES[0] + core * VOLUMES[1]
        rg = np.sqrt((cover * INERTIAS[0] + core * INERTIAS[1]) / mass)
        low = float(line.models[0].nominal["low RG"])
        good[k] = (np.abs(mass / POUND - pounds) <= 0.06) & (np.abs(rg - low) <= 0.003 * INCH)
    each, whole = line.good(16)
    for share, known in zip((*each.values(), whole), (*good, good.all(axis=0)), strict=True):
        p = float(known.mean())
        assert abs(share.value - p) < 5.0 * np.sqrt(2.0 * p * (1.0 - p) / n)
    assert whole.value > 1.2 * each["15"].value * each["14"].value  # a batch makes them alike


def test_half_as_wide_is_half_the_deviation(lined: Lined) -> None:
    """The same line, its core's standard deviation written half as large."""
    line = lined(SPREAD, LAYERS, {"15": 13.8}, tuple(DENSITIES))
    core = next(input_ for input_ in line.inputs.each if input_.of == "core")
    found, _ = line.good(half=core)
    known, _ = lined(
        SPREAD.replace("0.015", "0.0075"), LAYERS, {"15": 13.8}, tuple(DENSITIES)
    ).good()
    assert found["15"].value == pytest.approx(known["15"].value, abs=1e-4)


def test_to_first_order_the_share_is_that_of_a_bivariate_normal(lined: Lined) -> None:
    """Weight and RG of normals, RG nearly linear: the two roads agree to their errors."""
    line = lined(SPREAD, LAYERS, {"15": 13.83}, tuple(DENSITIES))
    model = line.models[0]
    slopes = np.array([model.slopes[figure] for figure in ("weight", "low RG")])
    mean = np.array([model.nominal[figure] for figure in ("weight", "low RG")])
    middle, reach = np.array([13.83 * POUND, mean[1]]), np.array([0.06 * POUND, 0.003 * INCH])
    known = joint_share(mean, slopes @ np.diag(SD**2) @ slopes.T, middle - reach, middle + reach)
    each, _ = line.good(16)
    assert each["15"].value == pytest.approx(known, abs=2e-3)


def test_the_finding_tells_the_same() -> None:
    """`line_spread` of the whole: shares, standard deviations, and who makes the variance."""
    text = head("Two", {"15": 13.83}, (2.7349, 0.001)) + LAYERS + SPREAD
    (weight,) = line_spread(lineup(text, tuple(DENSITIES))).weights
    squares = (VOLUMES * SD) ** 2
    assert weight.sd["weight"] == pytest.approx(float(np.sqrt(squares.sum())), rel=1e-9)
    assert weight.shares["weight"] == pytest.approx(squares / squares.sum(), rel=1e-9)
    assert weight.linear == pytest.approx(weight.good.value, abs=2e-3)
    assert weight.worst is None
    assert capabilities(weight) == {}  # nothing was measured


def test_capability_is_told_only_of_what_was_measured() -> None:
    """Of the weight: 0.06 lb ÷ 3 sd. A scale that is only stated takes the weight's away."""
    measured = SPREAD.replace("sd =", "measured = 30, sd =")
    text = head("Two", {"15": 13.83}, (2.7349, 0.001)) + LAYERS + measured
    (weight,) = line_spread(lineup(text, tuple(DENSITIES))).weights
    found = capabilities(weight)
    sd, mean = float(np.hypot.reduce(VOLUMES * SD)) / POUND, float(DENSITIES @ VOLUMES) / POUND
    assert found["weight"].cp == pytest.approx(0.06 / (3 * sd), rel=1e-3)
    assert found["weight"].cpk == pytest.approx((0.06 - abs(13.83 - mean)) / (3 * sd), rel=1e-3)
    assert found["weight"].outside == pytest.approx(
        1 - weight.inside[weight.bands[0]].value, abs=2e-3
    )
    (weight,) = line_spread(lineup(text + "scale = 0.01\n", tuple(DENSITIES))).weights
    assert capabilities(weight).keys() == {"low RG"}
