"""Which one more reading tells most: what is promised of it comes true once it is made."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from answers import example
from shops import Shop

from optimizer.questions.reconcile.aimed import Aimed, aimed, unknown
from optimizer.questions.reconcile.finding import reconciled
from optimizer.questions.reconcile.measured.file import read_measured
from optimizer.questions.reconcile.telling import telling
from optimizer.spread.design import Candidates

HELD = {
    "keel": (), "girdle": (), "spindle": ("keel",), "mantle": ("spindle", "keel", "girdle"),
}  # fmt: skip


INNER = tuple(HELD)  # the cover is cast larger, and turned


@pytest.fixture(scope="module")
def demo() -> Aimed:
    return aimed(example("juniper"))


def sds(aimed_: Aimed, path: Path) -> dict[str, float]:
    (ball,) = reconciled(aimed_, read_measured(path, aimed_.scenario)).balls
    return {part.part: part.sd for part in ball.parts}


@pytest.mark.parametrize("part", [None, "spindle"])
def test_a_reading_narrows_as_promised(demo: Aimed, tmp_path: Path, part: str | None):
    shop = Shop(demo, HELD, 2)
    shop.cast("1", "15", ["girdle"])
    path = shop.file(tmp_path)
    found = reconciled(demo, read_measured(path, demo.scenario))
    (told,), (ball,) = telling(found, part), found.balls
    before, text = sds(demo, path), path.read_text()
    castings = [more for more in told.more if more.reading.of in INNER]
    assert castings
    for more in castings:
        of = demo.models["15"].ball.map
        names = [pour.part for pour in of.pours]
        inside = [names.index(name) for name in (more.reading.of, *HELD[more.reading.of])]
        rho = np.array([part.estimate for part in ball.parts])
        mass = float(of.volumes[inside] @ rho[inside])
        path.write_text(f"{text}1,15,casting,{more.reading.of},{mass},g\n")
        after = sds(demo, path)
        assert more.now == pytest.approx(before[more.part])
        assert more.then == pytest.approx(after[more.part], rel=1e-3)
        if part is None:
            assert more.part == min(after, key=lambda name: after[name] / before[name])
        else:
            assert more.part == part


def test_the_most_telling_leaves_the_smallest_determinant():
    """Of some combinations alone (Ds): by the determinant of their covariance, taken anew."""
    random = np.random.default_rng(0)
    root = random.normal(size=(6, 6))
    covariance, rows = root @ root.T, random.normal(size=(9, 6))
    variances, which = random.uniform(0.1, 2.0, 9), random.normal(size=(3, 6))
    gains = Candidates(covariance, rows, variances).gains_on(which)
    for gain, row, variance in zip(gains, rows, variances, strict=True):
        after = np.linalg.inv(np.linalg.inv(covariance) + np.outer(row, row) / variance)
        now = np.linalg.slogdet(which @ covariance @ which.T)[1]
        assert gain == pytest.approx(now - np.linalg.slogdet(which @ after @ which.T)[1])


def test_of_an_old_ball_no_casting_can_be_weighed(tmp_path: Path):
    old = unknown(example("juniper").scenario)
    shop = Shop(old, HELD)
    shop.cast("1", "15", densities=np.array([1.16, 1.02, 2.62, 3.18, 1.18]))
    (told,) = telling(reconciled(old, read_measured(shop.file(tmp_path), old.scenario)))
    assert told.more
    assert all(more.reading.kind.name != "casting" for more in told.more)
