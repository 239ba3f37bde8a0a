"""Control charts: limits against a handbook's, and which balls and parts they show."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from answers import example
from shops import Shop

from optimizer.questions.reconcile.aimed import Aimed, aimed, unknown
from optimizer.questions.reconcile.finding import Reconciled, reconciled
from optimizer.questions.reconcile.learning.control_chart import (
    Control,
    Point,
    control_charts,
    controls,
)
from optimizer.questions.reconcile.measured.file import read_measured

HELD = {
    "keel": (), "girdle": (), "spindle": ("keel",), "mantle": ("spindle", "keel", "girdle"),
}  # fmt: skip
FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


@pytest.fixture(scope="module")
def demo() -> Aimed:
    return aimed(example("juniper"))


def found(shop: Shop, folder: Path) -> Reconciled:
    return reconciled(shop.aimed, read_measured(shop.file(folder), shop.aimed.scenario))


def test_limits_are_a_handbook_s() -> None:
    """NIST/SEMATECH e-Handbook, 6.3.2.2 (from memory): 45.8159, 50.81, 55.8041."""
    control = Control("any", "any", tuple(Point(str(k), x, 0.1) for k, x in enumerate(FLOW)))
    assert control.mean == pytest.approx(50.81)
    assert control.limits == pytest.approx((45.8159, 55.8041), abs=1e-4)
    assert control.beyond == ()


def test_points_beyond_are_marked_in_shape_and_word(demo: Aimed, tmp_path: Path) -> None:
    """The seventh keel is 0.2 g/cm³ too dense; the picture says so without colour."""
    shop, rho = Shop(demo, HELD, seed=1), demo.models["15"].ball.densities
    at = [pour.part for pour in demo.models["15"].ball.map.pours].index("keel")
    for k in range(12):
        off = np.random.default_rng(k).normal(size=5) * 0.002
        off[at] += 0.2 * (k == 6)
        shop.cast(f"B{k}", "15", tuple(HELD), densities=rho + off)
    got = found(shop, tmp_path)
    by_part = {control.part: control for control in controls(got)}
    assert [point.name for point in by_part["keel"].beyond] == ["B6"]
    assert not by_part["girdle"].beyond
    assert by_part["keel"].points[6].off == pytest.approx(0.2, abs=0.02)
    pictures = control_charts(got)
    assert pictures is not None
    (picture,) = (one for one in pictures.each if one.name == "control-keel")
    text = picture.file()
    ET.fromstring(text.encode())  # noqa: S314 - our own
    assert "B6 beyond" in text
    assert "beyond the limits: B6." in picture.about


def test_parts_that_are_hardly_told_are_named_instead(demo: Aimed, tmp_path: Path) -> None:
    """Whole balls, and three keels weighed: the spindle and the girdle stay as assumed."""
    shop = Shop(demo, HELD, seed=2)
    for k in range(3):
        shop.cast(str(k), "15", ("keel",))
    got = found(shop, tmp_path)
    shown = {control.part for control in controls(got)}
    assert "keel" in shown
    assert not shown & {"spindle", "girdle"}
    pictures = control_charts(got)
    assert pictures is not None
    assert "spindle and girdle" in pictures.caption


def test_two_balls_have_no_chart_and_a_bare_drawing_neither(demo: Aimed, tmp_path: Path) -> None:
    shop = Shop(demo, HELD, seed=3)
    for k in range(2):
        shop.cast(str(k), "15", tuple(HELD))
    assert control_charts(found(shop, tmp_path)) is None
    shop.cast("3", "15", tuple(HELD))
    assert control_charts(found(shop, tmp_path)) is not None
    wide = unknown(demo.scenario)
    got = reconciled(wide, read_measured(shop.file(tmp_path), wide.scenario))
    assert control_charts(got) is None


def test_a_batch_is_a_point(demo: Aimed, tmp_path: Path) -> None:
    """Six balls of three batches: three points, each at what its two keels say."""
    shop = Shop(demo, HELD, seed=4)
    for k in range(6):
        shop.cast(str(k), "15", ("keel",), ())
    head, *rows = shop.lines
    shop.lines = [f"{head},batch", *(f"{row},lot {k // 2}" for k, row in enumerate(rows))]
    got = found(shop, tmp_path)
    (control,) = controls(got)
    assert [point.name for point in control.points] == ["lot 0", "lot 1", "lot 2"]
    keels = [part for ball in got.balls for part in ball.parts if part.part == "keel"]
    assert [point.off for point in control.points] == pytest.approx(
        [part.estimate - part.aimed for part in keels[::2]]
    )
