"""Spreads learned from balls: closed forms where castings are weighed exactly, simulated shops."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from answers import example, solved
from optimizer_texts import shipped
from scipy.optimize import brentq
from scipy.stats import chi2
from shops import INCH, POUND, Shop
from whole import Share, in_shares

from optimizer.questions.reconcile.aimed import Aimed, aimed, unknown
from optimizer.questions.reconcile.finding import reconciled
from optimizer.questions.reconcile.learning.learned import LearnedSpread, learned
from optimizer.questions.reconcile.measured.file import read_measured

HELD = {
    "keel": (), "girdle": (), "spindle": ("keel",), "mantle": ("spindle", "keel", "girdle"),
}  # fmt: skip
"""What lies in each casting of the demo, by its drawing."""
CASTINGS = tuple(HELD)
SD = np.array([0.010, 0.015, 0.025, 0.030, 0.025]) / np.sqrt(3.0)
"""Of the demo's densities, g/cm³: cover, mantle, spindle, keel, girdle; their ± as ends."""
KEEL = np.pi * (1.1**2 * (5.0 - 2.2) + 4.0 / 3.0 * 1.1**3) * INCH**3
GIRDLE = 2.0 * np.pi**2 * 2.3 * 0.4**2 * INCH**3
SPINDLE = 4.0 / 3.0 * np.pi * 1.65**2 * 3.05 * INCH**3 - KEEL
EXACTLY = 1e-3
"""g: what a casting's scale repeats within."""


@pytest.fixture(scope="module")
def demo() -> Aimed:
    return aimed(example("juniper"))


def of_file(of: Aimed, rows: Sequence[str], folder: Path) -> dict[str, LearnedSpread]:
    """Return what is learned from castings that are weighed exactly, by material and kind."""
    path = folder / "measured.csv"
    head = "ball,label,measurement,of,value,unit,repeatability,batch"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    each = learned(reconciled(of, read_measured(path, of.scenario)))
    return {f"{one.material}{' within' if one.within else ''}": one for one in each}


def of_shop(shop: Shop, folder: Path) -> dict[str, LearnedSpread]:
    each = learned(reconciled(shop.aimed, read_measured(shop.file(folder), shop.aimed.scenario)))
    return {one.material: one for one in each}


def keel(ball: int, density: float, batch: str = "") -> str:
    return f"{ball},15,casting,keel,{density * KEEL:.6f},g,{EXACTLY},{batch}"


def profile(sd: float, freedom: int) -> list[float]:
    """Return where −ν log v − S² ÷ v, twice the log likelihood, has lost χ²'s 95 %; as sds."""

    def lost(ratio: float) -> float:
        return float(freedom * (np.log(ratio) + 1.0 / ratio - 1.0) - chi2.ppf(0.95, 1))

    return [sd * brentq(lost, *ends) ** 0.5 for ends in ((1e-3, 1.0), (1.0, 1e4))]


def test_castings_weighed_exactly_are_a_sample(demo: Aimed, tmp_path: Path) -> None:
    """Restricted maximum likelihood is the sample's standard deviation, of n − 1 degrees.

    Two parts of one material are one sample with two means. The mean of a part is no spread: all
    keels are 0.04 g/cm³ too dense. The χ² interval of a normal sample is near that of a likelihood.
    """
    poured = np.random.default_rng(1).normal(
        [2.50, 1.50, 1.55], [0.020, 0.012, 0.012], (10, 3)
    ) + np.array([0.04, 0.0, 0.0])
    rows = list[str]()
    for ball, (dense, spindle, girdle) in enumerate(poured):
        rows.append(keel(ball, dense))
        whole = dense * KEEL + spindle * SPINDLE
        rows.append(f"{ball},15,casting,spindle,{whole:.6f},g,{EXACTLY},")
        rows.append(f"{ball},15,casting,girdle,{girdle * GIRDLE:.6f},g,{EXACTLY},")
    found = of_file(demo, rows, tmp_path)
    pooled = np.sqrt(poured[:, 1:].var(axis=0, ddof=1).mean())
    for name, sd, freedom in (
        ("dense", poured[:, 0].std(ddof=1), 9),
        ("filled", pooled, 18),
    ):
        each = found[name]
        assert each.spread is not None
        assert each.usable
        assert each.count == 10
        assert each.spread.sd == pytest.approx(sd, rel=1e-3)
        assert [each.spread.low, each.spread.high] == pytest.approx(profile(sd, freedom), rel=2e-3)
        ends = sd * np.sqrt(freedom / chi2.ppf([0.975, 0.025], freedom))
        assert [each.spread.low, each.spread.high] == pytest.approx(ends, rel=0.06)
    assert found["filled"].parts == ("spindle", "girdle")
    assert found["dense"].assumed == pytest.approx(0.03 / np.sqrt(3.0))
    assert found["shell"].why == found["light"].why == "unseen"


def test_balls_of_named_batches_tell_both_spreads(demo: Aimed, tmp_path: Path) -> None:
    """Balanced, one factor: the mean squares within and between (analysis of variance)."""
    random = np.random.default_rng(2)
    batches = random.normal(2.5, 0.02, 4)
    poured = batches[:, None] + random.normal(0.0, 0.006, (4, 5))
    rows = [keel(5 * b + k, poured[b, k], f"lot {b}") for b in range(4) for k in range(5)]
    found = of_file(demo, rows, tmp_path)
    inner = poured.var(axis=1, ddof=1).mean()
    between = (5.0 * poured.mean(axis=1).var(ddof=1) - inner) / 5.0
    each, within = found["dense"], found["dense within"]
    assert each.spread is not None
    assert within.spread is not None
    assert each.spread.sd == pytest.approx(np.sqrt(between), rel=1e-3)
    assert within.spread.sd == pytest.approx(np.sqrt(inner), rel=1e-3)
    assert (each.count, each.batched, within.count) == (4, True, 20)
    assert within.assumed is None
    assert not within.news


def test_a_spread_within_batches_that_nothing_shows_is_held(tmp_path: Path) -> None:
    """Each keel of a batch of its own: its variance is that between batches and that within."""
    text = shipped("juniper") + "\n[spread]\ndensity.keel = { sd = 0.01, within = 0.006 }\n"
    poured = np.random.default_rng(3).normal(2.5, 0.02, 12)
    rows = [keel(k, density, f"lot {k}") for k, density in enumerate(poured)]
    found = of_file(aimed(solved(text)), rows, tmp_path)
    assert "dense within" not in found
    spread = found["dense"].spread
    assert spread is not None
    assert spread.sd == pytest.approx(np.sqrt(poured.var(ddof=1) - 0.006**2 / 3.0), rel=1e-3)
    assert found["dense"].count == 12
    assert found["dense"].batched


@pytest.mark.parametrize(("sd", "why"), [(0.02, "known"), (0.002, "")])
def test_what_was_measured_on_more_stays_unless_it_is_contradicted(
    tmp_path: Path, sd: float, why: str
) -> None:
    """12 keels of a standard deviation of 0.021, and 24 batches of before."""
    text = f"{shipped('juniper')}\n[spread]\ndensity.keel = {{ sd = {sd}, measured = 24 }}\n"
    poured = np.random.default_rng(4).normal(2.5, 0.02, 12)
    each = of_file(aimed(solved(text)), [keel(k, x) for k, x in enumerate(poured)], tmp_path)
    assert each["dense"].why == why
    assert each["dense"].known == 24


def test_two_balls_are_too_few(demo: Aimed, tmp_path: Path) -> None:
    found = of_file(demo, [keel(1, 2.50), keel(2, 2.53)], tmp_path)
    assert found["dense"].why == "few"
    assert found["dense"].count == 2
    assert not found["dense"].usable


def test_keels_alike_show_no_spread(demo: Aimed, tmp_path: Path) -> None:
    """Six keels within a thousandth of the scale's: there is an upper end, and nothing to write."""
    each = of_file(demo, [keel(k, 2.5) for k in range(6)], tmp_path)["dense"]
    assert each.why == "hidden"
    assert each.spread is not None
    assert each.spread.high < EXACTLY
    assert each.news == "less"


def test_a_drawing_of_unknown_densities_has_no_spread(tmp_path: Path) -> None:
    assert not of_file(
        unknown(example("juniper").scenario), [keel(k, 2.5) for k in "123"], tmp_path
    )


def test_estimates_are_drawn_together_and_what_was_measured_is_not(
    demo: Aimed, tmp_path: Path
) -> None:
    """60 balls by their whole figures alone: their estimates scatter 0.1 to 0.93 of the truth.

    That is √(1 − narrowed²), by the law of total variance. Those figures tell that some materials
    vary, not which: nothing is learned of the inner ones, and no interval is drawn together.
    """
    shop = Shop(demo, HELD, seed=4)
    for k in range(60):
        shop.cast(str(k), "15")
    found = reconciled(demo, read_measured(shop.file(tmp_path), demo.scenario))
    estimates = np.array([[part.estimate for part in ball.parts] for ball in found.balls])
    truth = np.array([[*shop.poured[ball.ball.name].values()] for ball in found.balls])
    shrunk = estimates.std(axis=0, ddof=1) / truth.std(axis=0, ddof=1)
    narrowed = np.array([part.narrowed for part in found.balls[0].parts])
    assert estimates.std(axis=0) == pytest.approx(SD * np.sqrt(1.0 - narrowed**2), rel=0.2)
    assert shrunk.min() < 0.24
    assert shrunk.max() < 0.95
    each = {one.material: one for one in learned(found)}
    assert each["light"].usable
    assert not each["filled"].usable
    assert not each["dense"].usable
    sds = dict(zip(("shell", "light", "filled", "dense"), SD, strict=False))
    assert all(one.spread and one.spread.high > 0.9 * sds[one.material] for one in each.values())


def test_weights_alone_tell_that_something_varies(demo: Aimed, tmp_path: Path) -> None:
    """Any one of four materials could make up 12 balls' weights: no spread is put on one of them.

    None can be more than what would make up all of it: S ÷ V of the part, for the upper end of S.
    """
    shop = Shop(demo, HELD, seed=5)
    for k in range(12):
        shop.cast(str(k), "15", read=("weight",))
    found = of_shop(shop, tmp_path)
    assert {one.why for one in found.values()} == {"together"}
    assert not any(one.usable for one in found.values())
    ball = demo.models["15"].ball.map
    weights = np.array([float(line.split(",")[4]) for line in shop.lines[1:]]) * POUND
    most = profile(weights.std(ddof=1), 11)[1]
    for name, part in (("shell", "cover"), ("light", "mantle"), ("dense", "keel")):
        spread = found[name].spread
        assert spread is not None
        alone = np.sqrt(most**2 - (0.005 * POUND) ** 2) / ball.volumes[ball.places[part]]
        assert spread.high == pytest.approx(alone, rel=2e-3)


@in_shares(10)
def test_intervals_hold_the_spread_of_simulated_shops(
    demo: Aimed, tmp_path: Path, share: Share
) -> None:
    """500 shops of 10 balls, castings weighed and balls measured: 90 to 99 % hold the truth.

    Each shop's spreads are 0.5 to 2 times the assumed ones, and each part has a bias.
    """
    assert 0.90 <= np.mean([_holds(demo, tmp_path, k) for k in share(range(500))]) <= 0.99


def _holds(demo: Aimed, folder: Path, seed: int) -> list[bool]:
    random = np.random.default_rng(seed)
    wider = np.exp2(random.uniform(-1.0, 1.0, 4))[[0, 1, 2, 3, 2]]
    bias = random.normal(size=5) * SD
    shop = Shop(demo, HELD, seed=10_000 + seed)
    for k in range(10):
        label = ("16", "15", "14", "13")[k % 4]
        errors = bias + random.normal(size=5) * SD * wider
        rho = demo.models[label].ball.densities + errors
        shop.cast(str(k), label, CASTINGS, densities=rho)
    found = of_shop(shop, folder)
    truth = dict(zip(("shell", "light", "filled", "dense"), SD * wider, strict=False))
    return [
        one.spread is not None and one.spread.low <= truth[name] <= one.spread.high
        for name, one in found.items()
    ]


def test_a_shop_that_scatters_more_is_news(demo: Aimed, tmp_path: Path) -> None:
    """Three times the assumed spread in the mantle, 12 balls; the others are as assumed."""
    random, shop = np.random.default_rng(6), Shop(demo, HELD, seed=6)
    for k in range(12):
        errors = random.normal(size=5) * SD * [1.0, 3.0, 1.0, 1.0, 1.0]
        rho = demo.models["15"].ball.densities + errors
        shop.cast(str(k), "15", CASTINGS, densities=rho)
    found = of_shop(shop, tmp_path)
    assert found["light"].news == "more"
    assert found["shell"].news == found["filled"].news == ""
