"""Each distribution by integrals over its quantiles, and against scipy's."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from optimizer.spread.distribution import Distribution, Normal, Triangular, Uniform

LAWS = {
    "uniform": (Uniform(half=0.3), stats.uniform(-0.3, 0.6)),
    "triangular": (Triangular(half=0.3), stats.triang(0.5, -0.3, 0.6)),
    "normal": (Normal(deviation=0.2), stats.norm(0.0, 0.2)),
    "cut off": (Normal(deviation=0.2, bound=0.3), stats.truncnorm(-1.5, 1.5, 0.0, 0.2)),
    "cut off far out": (Normal(deviation=0.2, bound=1.4), stats.truncnorm(-7, 7, 0.0, 0.2)),
    "cut off close": (Normal(deviation=0.2, bound=0.002), stats.truncnorm(-0.01, 0.01, 0.0, 0.2)),
}
SHARES = np.array([2.0**-31, 1e-6, 0.01, 0.2, 0.5, 0.7, 0.99, 1 - 1e-6, 1 - 2.0**-31])


@pytest.mark.parametrize(("law", "known"), LAWS.values(), ids=LAWS.keys())
def test_quantiles_and_sd_are_scipys(law: Distribution, known: stats.rv_frozen) -> None:
    assert law.quantiles(SHARES) == pytest.approx(known.ppf(SHARES), rel=1e-7, abs=1e-12)
    assert law.sd == pytest.approx(known.std(), rel=1e-6)
    assert law.most == pytest.approx(known.support()[1])


@pytest.mark.parametrize("law", [law for law, _ in LAWS.values()], ids=LAWS.keys())
def test_it_is_symmetrical(law: Distribution) -> None:
    shares = np.linspace(1e-4, 0.5, 100)
    assert law.quantiles(1.0 - shares) == pytest.approx(-law.quantiles(shares), abs=1e-12)


def test_a_normal_cut_off_very_close_is_uniform() -> None:
    """A normal is flat over a millionth of its standard deviation, or over 1e-9 of it."""
    for reach in (1e-6, 1e-9):
        assert Normal(deviation=1.0, bound=reach).sd == pytest.approx(reach / math.sqrt(3))
