"""The shop's bias and the next pour, against plain numpy, a Kalman filter and brute force."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import pytest
import shops
from answers import example, solved
from optimizer_texts import shipped
from oracles import castings
from shops import Shop

from optimizer.lineup.result import LineupResult
from optimizer.paper.writers.console import plain
from optimizer.questions.reconcile.aimed import Aimed, aimed
from optimizer.questions.reconcile.finding import reconciled
from optimizer.questions.reconcile.measured.file import read_measured
from optimizer.questions.reconcile.next.bias import Bias, biases
from optimizer.questions.reconcile.next.page import next_blocks
from optimizer.questions.reconcile.next.pour import next_pours

HELD = {
    "keel": (), "girdle": (), "spindle": ("keel",), "mantle": ("spindle", "keel", "girdle"),
}  # fmt: skip
INNER = ("keel", "spindle", "girdle", "mantle")


@pytest.fixture(scope="module")
def result() -> LineupResult:
    return example("juniper")


@pytest.fixture(scope="module")
def demo(result: LineupResult) -> Aimed:
    return aimed(result)


def found(shop: Shop, folder: Path):
    return reconciled(shop.aimed, read_measured(shop.file(folder), shop.aimed.scenario))


@pytest.mark.parametrize("count", [1, 3, 12])
def test_after_n_castings_known_exactly_it_is_n_of_n_plus_1_of_their_mean(
    demo: Aimed, tmp_path: Path, count: int, monkeypatch: pytest.MonkeyPatch
):
    """Half of the variance common, half each batch's own: the mean shrinks to n ÷ (n + 1)."""
    monkeypatch.setitem(shops.NOISE, "casting", 0.0)
    shop = Shop(demo, HELD, count)
    for k in range(count):
        shop.cast(str(k), "15", ["keel"], ())
    path = shop.file(tmp_path)
    text = path.read_text().replace("unit\n", "unit,repeatability\n").replace(",g\n", ",g,0.001\n")
    path.write_text(text)
    keel = next(
        bias
        for bias in biases(reconciled(demo, read_measured(path, demo.scenario)))
        if bias.part == "keel"
    )
    aim = demo.models["15"].ball.density("keel") or 0.0
    mean = np.mean([poured["keel"] - aim for poured in shop.poured.values()])
    assert keel.mean == pytest.approx(mean * count / (count + 1), abs=1e-7)
    assert keel.sd == pytest.approx(keel.before / np.sqrt(count + 1), rel=1e-4)


def test_a_kalman_filter_over_the_balls_agrees(demo: Aimed, tmp_path: Path):
    """State: the common bias of all parts. Each ball's own errors are noise, seen through it."""
    shop = Shop(demo, HELD, 4, bias={"keel": 0.06})
    for k, label in enumerate(("16", "15", "15", "13")):
        shop.cast(str(k), label, INNER if k else ())
    got = found(shop, tmp_path)
    names = ["cover", "mantle", "spindle", "keel", "girdle"]
    variance = np.diag([pour.tolerance**2 / 6.0 for pour in demo.models["15"].ball.map.pours])
    mean, covariance = np.zeros(5), variance.copy()
    for stack, estimate in zip(got.stacks, got.estimates, strict=True):
        assert [pour.part for pour in stack.balls[0].model.ball.map.pours] == names
        at = estimate.parameters.mean
        values, H = stack.model(at)
        order = [str(input_.of) for input_ in stack.inputs]
        H = H[:, [order.index(name) for name in names]]
        y = stack.measured.mean - values + H @ at[[order.index(name) for name in names]]
        S = H @ (covariance + variance) @ H.T + np.diag([r.sd**2 for r in stack.readings])
        gain = covariance @ H.T @ np.linalg.inv(S)
        mean, covariance = mean + gain @ (y - H @ mean), covariance - gain @ H @ covariance
    by_part = {bias.part: bias for bias in biases(got)}
    assert [by_part[name].mean for name in names] == pytest.approx(mean, abs=1e-9)
    assert [by_part[name].sd for name in names] == pytest.approx(
        np.sqrt(np.diag(covariance)), rel=1e-7
    )
    assert by_part["keel"].shown
    assert not by_part["girdle"].shown


def test_without_a_bias_the_schedule_stays(demo: Aimed, result: LineupResult):
    none = [Bias(name, 0.0, 0.01, 0.01) for name in ("cover", "mantle", "keel")]
    for pour in next_pours(demo, result, none):
        for point in pour.points:
            assert point.new == pytest.approx(point.old)


def test_no_steps_nearby_come_nearer_to_the_target(demo: Aimed, result: LineupResult):
    """Brute force over two steps to either side of each set-point, measured by an oracle."""
    off = {"cover": 0.004, "mantle": -0.013, "spindle": 0.02, "keel": 0.035, "girdle": -0.01}
    biased = [Bias(name, value, 0.001, 0.01) for name, value in off.items()]
    bias = np.array(list(off.values()))
    for pour in next_pours(demo, result, biased):
        of = demo.models[pour.label].ball.map
        target = np.array([(b.low + b.high) / 2.0 for b in pour.bands if b.rule is None])
        room = np.array([(b.high - b.low) / 2.0 for b in pour.bands if b.rule is None])
        points = np.array([point.new for point in pour.points])

        def farthest(rho: np.ndarray, of=of, target=target, room=room) -> np.ndarray:
            made = castings.figures(np.asarray(of.moments), rho + bias)
            return np.max(np.abs(made - target) / room, axis=1)

        around = points + 0.01 * np.array(list(product((-2, -1, 0, 1, 2), repeat=5)))
        low = np.array([own.low for own in of.pours])
        high = np.array([own.high for own in of.pours])
        around = around[np.all((around > low - 1e-9) & (around < high + 1e-9), axis=1)]
        near = np.abs(around - np.array([point.asked for point in pour.points]))
        around = around[np.all(near < 0.0301, axis=1)]
        best = float(farthest(points[None])[0])
        assert best <= float(np.min(farthest(around))) + 1e-6
        assert best < 0.5 < float(farthest(np.array([[p.old for p in pour.points]]))[0])
        assert np.allclose(points * 100, np.round(points * 100))
        assert not pour.missed


def test_what_can_t_be_mixed_is_said(demo: Aimed, result: LineupResult):
    """A keel that comes out 0.6 too light would have to be mixed denser than the material goes."""
    for pour in next_pours(demo, result, [Bias("keel", -0.6, 0.01, 0.01)]):
        keel = next(point for point in pour.points if point.part == "keel")
        assert keel.beyond
        assert keel.new <= 3.6
        assert pour.missed


def test_what_is_set_instead_is_not_called_the_nearest_that_can_be_mixed(
    demo: Aimed, result: LineupResult, tmp_path: Path
):
    """It is what suits the target best with the others: here a step inside the end of the range."""
    shop = Shop(demo, HELD)
    shop.cast("1", "15", INNER)
    off = [Bias("keel", -0.4, 0.01, 0.01)]
    pours = next_pours(demo, result, off)
    beyond = [
        (point, pour)
        for weight in pours
        for point, pour in zip(weight.points, demo.models["15"].ball.map.pours, strict=True)
        if point.beyond
    ]
    ends = [min(max(point.asked, pour.low), pour.high) for point, pour in beyond]
    assert any(abs(p.new - e) > 0.011 for (p, _), e in zip(beyond, ends, strict=True))
    text = plain(list(next_blocks(found(shop, tmp_path), off, pours, whole=False)))
    assert text.count("can't be mixed, so it is set to") == len(beyond)
    for point, _ in beyond:
        assert f"{point.asked:.4f} g/cm³ can't be mixed, so it is set to {point.new:.4f}" in text


def test_a_limit_that_the_next_ball_is_expected_to_break_is_said():
    """With lighter covers, the target kept, the top weight of the 16 falls below its minimum.

    Measured beside it: |first moment| over the arm, in ounces.
    """
    old, new = "{ min = 1.0, max = 4.0, tolerance = 0.25 }", "{ min = 2.45, tolerance = 0.01 }"
    result = solved(shipped("juniper").replace(old, new))
    line = aimed(result)
    for off, expected in ((0.0, []), (-0.05, ["16"])):
        pours = next_pours(line, result, [Bias("cover", off, 0.01, 0.01)])
        light = []
        for pour in pours:
            of = line.models[pour.label].ball.map
            rho = np.array([p.new + off * (p.part == "cover") for p in pour.points])
            first = np.einsum("n,nij->ij", rho, np.asarray(of.moments))[:3, 3]
            light += [pour.label] if np.linalg.norm(first) / of.arm / 28.349523125 < 2.45 else []
        assert light == expected
        assert not any(pour.missed for pour in pours)
        broken = {p.label: [m.words for m in p.broken] for p in pours if p.broken}
        assert broken == {label: ["top weight min"] for label in expected}


def test_weights_that_share_a_density_share_its_set_point():

    text = shipped("juniper").replace(
        'material = "shell"', 'material = "shell"\nsame_density = "all"'
    )
    result = solved(text)
    line = aimed(result)
    pours = next_pours(line, result, [Bias("cover", 0.013, 0.001, 0.01)])
    covers = {point.new for pour in pours for point in pour.points if point.part == "cover"}
    assert len(covers) == 1


def test_a_ball_that_doesn_t_fit_is_marked(demo: Aimed, tmp_path: Path):
    shop = Shop(demo, HELD)
    shop.cast("1", "15", INNER, typo=0.5)
    got = found(shop, tmp_path)
    assert not got.fits
    assert not got.ball_fits("1")
