"""What was poured, estimated from readings of simulated shops; balls are measured by an oracle."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from answers import example, solved
from optimizer_texts import shipped
from oracles import castings
from scipy.optimize import least_squares
from shops import INCH, NOISE, POUND, Shop

from optimizer.questions.reconcile.aimed import Aimed, aimed
from optimizer.questions.reconcile.finding import Reconciled, reconciled
from optimizer.questions.reconcile.measured.file import read_measured

HELD = {
    "keel": (), "girdle": (), "spindle": ("keel",), "mantle": ("spindle", "keel", "girdle"),
}  # fmt: skip
"""What lies in each casting of the demo, by its drawing."""
EXACT = {"xtol": 1e-15, "ftol": 1e-15, "gtol": 1e-13}
INNER = ("keel", "spindle", "girdle", "mantle")


@pytest.fixture(scope="module")
def demo() -> Aimed:
    return aimed(example("juniper"))


def found(shop: Shop, folder: Path) -> Reconciled:
    return reconciled(shop.aimed, read_measured(shop.file(folder), shop.aimed.scenario))


@pytest.mark.parametrize("seed", range(4))
def test_estimates_are_scipys(demo: Aimed, tmp_path: Path, seed: int):
    """Least squares of all residuals at once, exactly measured: readings and the prior's."""
    shop = Shop(demo, HELD, seed)
    shop.cast("1", "14", INNER[: seed + 1])
    (ball,) = found(shop, tmp_path).balls
    of = demo.models["14"].ball
    names = [pour.part for pour in of.map.pours]
    moments = np.asarray(of.map.moments)
    prior = np.array([pour.tolerance for pour in of.map.pours]) / np.sqrt(3.0)

    def residuals(x: np.ndarray) -> np.ndarray:
        rho = of.densities + prior * x
        weight, low, differential = castings.figures(moments, rho[None])[0]
        first = np.linalg.norm(np.einsum("n,nij->ij", rho, moments)[:3, 3]) / of.map.arm
        made = {"weight": weight, "low rg": low, "high rg": low + differential, "top weight": first}
        volumes = dict(zip(names, moments[:, 3, 3] * rho, strict=True))
        off = list(x)
        for reading in ball.ball.readings:
            value = made.get(reading.kind.name)
            if value is None:
                value = sum(volumes[name] for name in (reading.of, *HELD[str(reading.of)]))
            off.append((value - reading.value) / NOISE[reading.kind.name])
        return np.array(off)

    best = least_squares(residuals, np.zeros(len(names)), jac="3-point", x_scale=1.0, **EXACT)
    assert [part.estimate for part in ball.parts] == pytest.approx(
        of.densities + prior * best.x, abs=1e-8
    )
    sd = np.sqrt(np.diag(np.linalg.inv(best.jac.T @ best.jac))) * prior
    assert [part.sd for part in ball.parts] == pytest.approx(sd, rel=1e-4)


@pytest.mark.parametrize(
    ("name", "changes", "figure"),
    [
        ("yew", {}, "intermediate differential"),
        (
            "juniper",
            {
                "[target]": "[target]\ncg_offset = { min = 0.0, max = 0.2 }",
                "differential = 0.001": "differential = 0.001, cg_offset = 0.01",
            },
            "cg offset",
        ),
    ],
)
def test_every_figure_that_the_target_asks_for_is_told(tmp_path: Path, name, changes, figure):
    """Measured by numpy at the estimated densities, and told beside what the target allows."""
    text = shipped(name)
    for old, new in changes.items():
        text = text.replace(old, new, 1)
    line = aimed(solved(text))
    (tmp_path / "one.csv").write_text(
        "ball,label,measurement,of,value,unit\n1,15,weight,,15.1,lb\n"
    )
    (ball,) = reconciled(line, read_measured(tmp_path / "one.csv", line.scenario)).balls
    rho = np.array([part.estimate for part in ball.parts])
    J = np.einsum("n,nij->ij", rho, np.asarray(line.models["15"].ball.map.moments))
    centre = J[:3, 3] / J[3, 3]
    second = J[:3, :3] / J[3, 3] - np.outer(centre, centre)
    radii = np.sqrt(np.linalg.eigvalsh(np.trace(second) * np.eye(3) - second))
    made = {
        "intermediate differential": radii[2] - radii[1],
        "cg offset": np.linalg.norm(centre),
    }
    told = {one.name: one for one in ball.figures}
    assert told[figure].estimate == pytest.approx(made[figure], abs=1e-6)
    bands = {band.figure.lower() for band in line.bands["15"] if band.rule is None}
    assert figure in bands <= told.keys()
    assert told[figure].sd > 0.0


def test_whole_balls_hardly_tell_the_inner_pours_and_a_casting_does(demo: Aimed, tmp_path: Path):
    """The keel by the whole ball alone, and with its mass to 1 g over its volume (2.2 × 5 in)."""
    shop = Shop(demo, HELD)
    shop.cast("whole", "15")
    shop.cast("weighed", "15", ["keel"])
    whole, weighed = (
        next(part for part in ball.parts if part.part == "keel")
        for ball in found(shop, tmp_path).balls
    )
    volume = np.pi * (1.1**2 * (5.0 - 2.2) + 4.0 / 3.0 * 1.1**3) * INCH**3
    before = 0.03 / np.sqrt(3.0)
    assert whole.before == pytest.approx(before)
    assert 0.8 < whole.narrowed < 0.95
    at_most = 1.0 / np.hypot(volume, 1.0 / before)
    assert weighed.sd < at_most
    assert weighed.sd == pytest.approx(at_most, rel=0.05)


@pytest.mark.parametrize("weighed", [(), INNER], ids=["whole", "castings"])
def test_intervals_hold_what_was_poured(demo: Aimed, tmp_path: Path, weighed: tuple[str, ...]):
    """500 shops with the normal prior: 95 % intervals hold 93 to 97 % of the true densities."""
    shop = Shop(demo, HELD, seed=len(weighed))
    for k in range(500):
        shop.cast(str(k), "15", weighed)
    assert 0.93 < _held(shop, tmp_path) < 0.97


def test_uniform_shops_are_covered_more(demo: Aimed, tmp_path: Path):
    shop = Shop(demo, HELD, seed=5, uniform=True)
    for k in range(500):
        shop.cast(str(k), "15")
    assert _held(shop, tmp_path) > 0.95


def _held(shop: Shop, folder: Path) -> float:
    held = [
        part.interval[0] <= shop.poured[ball.ball.name][part.part] <= part.interval[1]
        for ball in found(shop, folder).balls
        for part in ball.parts
    ]
    assert len(held) == 2500
    return float(np.mean(held))


@pytest.mark.parametrize("weighed", [(), INNER], ids=["whole", "castings"])
def test_a_typo_in_a_weight_is_named(demo: Aimed, tmp_path: Path, weighed: tuple[str, ...]):
    """0.3 lb too much: flagged in 95 % of shops, the line among those that may be wrong."""
    named = []
    for k in range(200):
        shop = Shop(demo, HELD, seed=100 + k)
        shop.cast("1", "15", weighed, typo=0.3)
        got = found(shop, tmp_path)
        line = 2 + len(weighed)
        named.append(any(s.reading is not None and s.reading.line == line for s in got.suspects))
        assert got.fits or got.suspects
    assert np.mean(named) >= 0.95


def test_a_clean_file_passes(demo: Aimed, tmp_path: Path):
    """All balls of a file together: 95 % of files without a mistake have no ball that fails."""
    passed = []
    for k in range(100):
        shop = Shop(demo, HELD, seed=1000 + k)
        for ball in range(6):
            shop.cast(str(ball), ("16", "15", "14", "13")[ball % 4], INNER)
        passed.append(found(shop, tmp_path).fits)
    assert 0.88 <= np.mean(passed) <= 1.0


def test_balls_of_one_batch_share_it(demo: Aimed, tmp_path: Path):
    """Two balls of one batch, each keel weighed by itself: as one density that is weighed twice."""
    shop = Shop(demo, HELD)
    rho = demo.models["15"].ball.densities + 0.004
    for ball in "12":
        shop.cast(ball, "15", ["keel"], (), densities=rho)
    path = shop.file(tmp_path)
    lines = path.read_text().splitlines()
    path.write_text("\n".join([lines[0] + ",batch", *(line + ",M7" for line in lines[1:])]))
    got = reconciled(demo, read_measured(path, demo.scenario))
    first, second = got.balls
    assert len(got.stacks) == 1
    assert first.parts == second.parts
    keel = next(part for part in first.parts if part.part == "keel")
    of = demo.models["15"].ball
    volume = float(of.map.volumes[of.map.places["keel"]])
    masses = [reading.value for reading in got.measured.each if reading.of == "keel"]
    weight, prior = 2.0 * volume**2, 1.0 / keel.before**2
    assert keel.estimate == pytest.approx(
        (weight * np.mean(masses) / volume + prior * keel.aimed) / (weight + prior), abs=1e-9
    )


def test_a_ball_that_misses_is_told_by_its_interval(demo: Aimed, tmp_path: Path):
    """Weight 0.2 lb over: outside; its estimate is near to what the oracle measures."""
    shop = Shop(demo, HELD, seed=3)
    of = demo.models["16"].ball
    rho = of.densities + np.array([0.016, 0.02, 0.0, 0.0, 0.0])
    shop.cast("1", "16", INNER, densities=rho)
    (ball,) = found(shop, tmp_path).balls
    weight = next(figure for figure in ball.figures if figure.name == "weight")
    true = castings.figures(np.asarray(of.map.moments), rho[None])[0][0]
    assert weight.estimate == pytest.approx(true, abs=0.02 * POUND)
    band = next(band for band in demo.bands["16"] if band.figure == "weight")
    assert weight.interval[0] > band.high


def test_periods_of_a_pendulum_say_what_radii_say(tmp_path: Path):
    """I = k (T² − T₀²) ÷ 4π², at the ball's mass, which its scale knows to some grams."""
    line = aimed(example("rowan"))
    pendulum = line.scenario.text.gauges.pendulum
    of = line.models["15"].ball
    low, _, high = of.radii.radii
    mass = of.properties.mass
    rows = ["ball,label,measurement,of,value,unit,repeatability"]
    k = pendulum.inertia * POUND * INCH**2 / (pendulum.period**2 - pendulum.empty**2)
    for name, radius in (("low", low + 0.01), ("high", high - 0.004)):
        period = np.sqrt(mass * radius**2 / k + pendulum.empty**2)
        slope = mass * radius / k / period  # of the period in the radius
        rows.append(f"a,15,{name} rg,,{radius:.12g},cm,0.005")
        rows.append(f"b,15,period {name},,{period:.12g},s,{0.005 * slope:.12g}")
    rows += [f"{ball},15,weight,,{mass:.9g},g,0.01" for ball in "ab"]
    path = tmp_path / "m.csv"
    path.write_text("\n".join(rows))
    a, b = reconciled(line, read_measured(path, line.scenario)).balls
    for by_radius, by_period in zip(a.parts, b.parts, strict=True):
        assert by_period.estimate == pytest.approx(by_radius.estimate, abs=0.05 * by_radius.sd)
        assert by_period.sd == pytest.approx(by_radius.sd, rel=0.03)
