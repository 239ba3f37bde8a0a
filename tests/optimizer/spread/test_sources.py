"""Samples of sources against published examples, closed forms and an independent sampler.

Guide to the Expression of Uncertainty in Measurement: supplement 1, JCGM 101:2008, clause 9 (of
9.2.4 and 9.3 the figures are from memory), and annex H.2 of JCGM 100:2008 (data from memory).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from optimizer.spread.distribution import Distribution, Normal, Triangular, Uniform
from optimizer.spread.simulation import Moments, Tally
from optimizer.spread.sources import Sources, pairs

ROOT3 = 3.0**0.5
ONE = Uniform(half=ROOT3)
"""Rectangular, of standard deviation 1."""


def moments(sources: Sources, figure: Callable[[np.ndarray], np.ndarray]) -> Moments:
    """What the samples say of a figure of the deviations (d, k)."""
    found = Moments()
    for _, deviations in sources.samples():
        found.add(figure(deviations.T))
    return found


@pytest.mark.parametrize(
    ("laws", "sd", "end", "digit"),
    [
        ([Normal(deviation=1.0)] * 4, 2.0, 3.92, 0.005),  # 9.2.2
        ([ONE] * 4, 2.0, 3.88, 0.005),  # 9.2.3
        ([ONE] * 3 + [Uniform(half=10 * ROOT3)], 10.1, 17.0, 0.05),  # 9.2.4
    ],
    ids=["normal", "rectangular", "one wide"],
)
def test_sums_of_four(laws: list[Distribution], sd: float, end: float, digit: float) -> None:
    """Clause 9.2: y = 0, the standard uncertainty u(y), and the shortest 95 % interval."""
    found = moments(Sources(laws), lambda x: x.sum(axis=0))
    assert found.mean == pytest.approx(0.0, abs=1e-4)
    assert found.sd == pytest.approx(sd, abs=max(digit, 0.06 if sd > 10 else 0.001))
    assert found.sd == pytest.approx(float(np.hypot.reduce([law.sd for law in laws])), rel=1e-4)
    assert (found.quantile(0.025), found.quantile(0.975)) == pytest.approx((-end, end), abs=digit)


def test_mass_calibration() -> None:
    """Clause 9.3, mg: 1.2340, 0.0754, [1.0834, 1.3825], themselves from 7.2e5 samples.

    So their standard uncertainty is sure to 0.0754/√(2 · 7.2e5) = 6e-5, and their interval, the
    shortest of many that are almost as short, to what it holds: 95 %, to √(0.05 · 0.95/7.2e5).
    The closed form: with w = 1/ρ of a uniform density, E w = ln(b/a)/(b − a) and E w² = 1/(a b).
    """
    laws = [
        Normal(deviation=0.050),
        Normal(deviation=0.020),
        Uniform(half=0.10),
        Uniform(half=1000.0),
        Uniform(half=50.0),
    ]

    def deviation(x: np.ndarray) -> np.ndarray:
        mass, more, air, weight, reference = x
        buoyancy = (1.20 + air - 1.2) * (1 / (8000.0 + weight) - 1 / (8000.0 + reference))
        return (100_000.0 + mass + 1.234 + more) * (1.0 + buoyancy) - 100_000.0

    found = moments(Sources(laws), deviation)
    w, w2 = np.log(9 / 7) / 2000, 1 / (7000 * 9000)
    r, r2 = np.log(8050 / 7950) / 100, 1 / (7950 * 8050)
    known = 0.05**2 + 0.02**2 + 1e10 * 0.1**2 / 3 * (w2 + r2 - 2 * w * r)
    assert found.mean == pytest.approx(1.2340, abs=1e-4)
    assert found.sd == pytest.approx(0.0754, abs=1.2e-4)
    assert found.sd == pytest.approx(known**0.5, rel=1e-4)
    within = Tally()
    for repeat, deviations in Sources(laws).samples():
        within.add(repeat, np.abs(deviation(deviations.T) - 1.23295) < 0.14955)
    assert within.share.value == pytest.approx(0.95, abs=7e-4)


VOLTS = (5.007, 4.994, 5.005, 4.990, 4.999)
AMPERES = (19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3)
RADIANS = (1.0456, 1.0438, 1.0468, 1.0428, 1.0433)


def test_resistance_and_reactance_from_correlated_readings() -> None:
    """Annex H.2: R, X and Z with their uncertainties, and the correlations in its table H.4."""
    readings = np.array([VOLTS, AMPERES, RADIANS])
    at, sd = readings.mean(axis=1), readings.std(axis=1, ddof=1) / np.sqrt(5)
    r = np.corrcoef(readings)
    linked = {(i, j): float(r[i, j]) for i, j in ((0, 1), (0, 2), (1, 2))}
    sources = Sources([Normal(deviation=float(s)) for s in sd], linked)
    every = np.concatenate([deviations for _, deviations in sources.samples()]).T
    volts, amperes, radians = every + at[:, None]
    impedance = volts / amperes
    figures = np.array([impedance * np.cos(radians), impedance * np.sin(radians), impedance])
    assert figures.mean(axis=1) == pytest.approx([127.732, 219.847, 254.260], abs=1e-3)
    assert figures.std(axis=1) == pytest.approx([0.071, 0.295, 0.236], abs=1e-3)
    known = [-0.588, -0.485, 0.993]
    assert np.corrcoef(figures)[[0, 0, 1], [1, 2, 2]] == pytest.approx(known, abs=1e-3)


def test_a_logarithm() -> None:
    """Logarithm of U(0.1, 1.1): ∫ ln = [x ln x − x] = −0.665, ∫ ln² = [x ln² x − 2x ln x + 2x]."""
    found = moments(Sources([Uniform(half=0.5)]), lambda x: np.log(0.6 + x[0]))
    a, b = 0.1, 1.1
    mean = b * np.log(b) - b - a * np.log(a) + a
    square = sum(s * (x * np.log(x) ** 2 - 2 * x * np.log(x) + 2 * x) for s, x in ((1, b), (-1, a)))
    assert found.mean == pytest.approx(mean, abs=1e-6)
    assert found.mean == pytest.approx(-0.665, abs=5e-4)
    assert found.sd == pytest.approx(float(np.sqrt(square - mean**2)), rel=1e-5)
    assert found.sd == pytest.approx(0.606, abs=5e-4)


def test_an_independent_sampler_agrees() -> None:
    """PCG64 draws scipy's own distributions: a joint share, within five standard errors."""
    laws = [Normal(deviation=1.0), Uniform(half=2.0), Triangular(half=1.5)]

    def inside(x: np.ndarray) -> np.ndarray:
        return (np.abs(x[0] + x[1] * x[2]) < 1.5) & (x[0] ** 2 + x[2] < 1.0)

    tally = Tally()
    for repeat, deviations in Sources(laws).samples():
        tally.add(repeat, inside(deviations.T))
    random, n = np.random.Generator(np.random.PCG64(3)), 1 << 20
    drawn = np.array([
        random.normal(0.0, 1.0, n),
        random.uniform(-2.0, 2.0, n),
        random.triangular(-1.5, 0.0, 1.5, n),
    ])  # fmt: skip
    share = float(inside(drawn).mean())
    assert tally.share.of == n
    assert abs(tally.share.value - share) < 5.0 * np.sqrt(2.0 * share * (1.0 - share) / n)
    assert tally.share.low < tally.share.value < tally.share.high


def test_scramblings_differ_and_a_seed_repeats_them() -> None:
    sources = Sources([Uniform(half=1.0), Normal(deviation=1.0)])
    first = np.concatenate([x for _, x in sources.samples(2, 64)])
    again = np.concatenate([x for _, x in sources.samples(2, 64)])
    assert np.array_equal(first, again)
    assert not np.array_equal(first[:64], first[64:])
    assert not np.array_equal(first, np.concatenate([x for _, x in sources.samples(2, 64, 7)]))


CORRELATED = {
    "normals": (Normal(deviation=2.0), Normal(deviation=0.1), 0.7),
    "uniforms": (Uniform(half=1.0), Uniform(half=3.0), -0.6),
    "mixed": (Uniform(half=1.0), Triangular(half=0.2), 0.9),
    "cut off": (Normal(deviation=1.0, bound=1.0), Normal(deviation=1.0), 0.5),
}


@pytest.mark.parametrize(("a", "b", "r"), CORRELATED.values(), ids=CORRELATED.keys())
def test_quantities_themselves_have_the_correlation(
    a: Distribution, b: Distribution, r: float
) -> None:
    """Not only the normals beneath them; and each keeps its own distribution."""
    x = np.concatenate([x for _, x in Sources([a, b], {(0, 1): r}).samples()])
    assert np.corrcoef(x.T)[0, 1] == pytest.approx(r, abs=2e-4)
    assert x.std(axis=0) == pytest.approx([a.sd, b.sd], rel=1e-3)


def test_uniforms_have_spearmans_closed_form() -> None:
    """Two uniforms' correlation is 6/π · asin(r/2) of their normals' (Pearson, 1907; memory)."""
    from optimizer.spread.sources import underlying  # noqa: PLC0415

    for r in (-0.8, 0.3, 0.95):
        of = 6.0 / np.pi * np.arcsin(r / 2.0)
        a, b = Uniform(half=1.0), Uniform(half=2.0)
        assert underlying(of, a, b) == pytest.approx(r, abs=2e-4)


def test_correlations_that_contradict_each_other_are_refused() -> None:
    """Of a with b and of b with c 0.9 leaves a and c at least 0.62."""
    three = [Normal(deviation=1.0)] * 3
    assert Sources(three, pairs([0, 1, 2], 0.9)).covariance[0, 2] == pytest.approx(0.9)
    with pytest.raises(ValueError, match="contradict"):
        Sources(three, {(0, 1): 0.9, (1, 2): 0.9, (0, 2): 0.5})


def test_a_correlation_that_no_such_quantities_have_is_refused() -> None:
    """A uniform and a normal reach √(3/π) = 0.977 at the most."""
    two = [Uniform(half=1.0), Normal(deviation=1.0)]
    assert Sources(two, {(0, 1): 0.97}).covariance.shape == (2, 2)
    with pytest.raises(ValueError, match=r"can't have a correlation of 0\.985"):
        Sources(two, {(0, 1): 0.985})


def ishigami(x: np.ndarray) -> np.ndarray:
    """Ishigami and Homma's function of three uniforms in ± π (1990), a = 7, b = 0.1."""
    return np.asarray(np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0]))


def test_ishigamis_shares_of_variance() -> None:
    """First and total, as Saltelli (2010) and Jansen (1999) estimate them (all from memory)."""
    x = np.concatenate([x for _, x in Sources([Uniform(half=np.pi)] * 6).samples()]).T
    a, b = x[:3], x[3:]
    of_a, of_b = ishigami(a), ishigami(b)
    variance = np.concatenate([of_a, of_b]).var()
    first, total = [], []
    for i in range(3):
        mixed = a.copy()
        mixed[i] = b[i]
        of_mixed = ishigami(mixed)
        first.append(np.mean(of_b * (of_mixed - of_a)) / variance)
        total.append(np.mean((of_a - of_mixed) ** 2) / 2.0 / variance)
    assert first == pytest.approx([0.3139, 0.4424, 0.0], abs=1e-3)
    assert total == pytest.approx([0.5576, 0.4424, 0.2437], abs=1e-3)
