"""Where axes point, against numpy's eigenvectors of an inertia that handbook formulas make."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from oracles.balls import Ellipsoid, radii_and_axes
from oracles.lineups import INCH, RADIUS, RANGES, Line, manufactured

from optimizer.ball.weight_class import Ball
from optimizer.paper.axes import axis_data, nearest, psa_data
from optimizer.paper.axis_words import axis_lines, axis_place, axis_rows, no_low_axis, psa_lines
from optimizer.paper.quantities import Unit
from optimizer.scenario import linear_maps, scenario
from shared.reference import table
from shared.units import of_length

INCHES = Unit.on_paper(of_length("in"))
NAMES = {"16": "16 lb", "15": "15 lb", "12": "12 lb"}
GAP = 0.001 * INCH


def balls(line: Line, *densities: tuple[float, ...]) -> list[Ball]:
    """The line's balls at these densities, one of each weight."""
    text = line.but(ranges=((0.3, 4.0),) * len(line.names)).text()
    maps = linear_maps(scenario(text, file="line.toml", target_required=True))
    return [
        linear_map.ball(np.array(some)) for linear_map, some in zip(maps, densities, strict=True)
    ]


def block(axes: tuple[float, float, float], *weights: str, **place) -> Line:
    """A line of a cover and a block of these semi-axes, cm."""
    solids = (Ellipsoid((RADIUS,) * 3), Ellipsoid(axes, host=0, **place))
    asked = (2.55 * INCH,) * 2, (0.03 * INCH,) * 2
    return Line(solids, dict.fromkeys(weights or ("15",), 6800.0), *asked, about="cg")


def degrees(one: np.ndarray, other: np.ndarray) -> float:
    """The angle between two axes, by its cosine: enough where it isn't nearly 0."""
    return float(np.degrees(np.arccos(min(1.0, abs(float(one @ other))))))


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("kind", ["tilted 15", "tilted 80", "triaxial", "off axis"])
def test_axes_are_where_the_oracle_has_them(kind, about):
    random, told = np.random.default_rng(len(kind)), 0
    for _ in range(5):
        line, densities = manufactured(random, kind, about)
        (ball,) = balls(line, densities)
        (low, middle, high), axes = radii_and_axes(line.solids, densities, about)
        data = axis_data(ball)
        if middle - low > GAP:
            tilt = degrees(axes[:, 0], np.eye(3)[2])
            assert data["low_axis_from_pin_deg"] == pytest.approx(tilt, abs=1e-4)
            arc = np.radians(tilt) * RADIUS / INCH
            assert data["low_axis_from_pin_in"] == pytest.approx(arc, abs=1e-5)
            told += 1
        else:
            assert data["low_axis_from_pin_deg"] is None
        if high - middle > GAP:
            psa = axes[:, 2] * (1.0 if axes[2, 2] > 0.0 else -1.0)
            assert data["psa_from_pin_deg"] == pytest.approx(degrees(psa, np.eye(3)[2]), abs=1e-4)
            off = (data["psa_from_x_deg"] - np.degrees(np.arctan2(psa[1], psa[0]))) % 180.0
            assert min(off, 180.0 - off) < 1e-4
            told += 1
        else:
            assert data["psa_from_pin_deg"] is data["psa_from_x_deg"] is None
        share = (high - middle) / (high - low)
        if high - low > GAP:
            assert data["asymmetry_percent"] == pytest.approx(100.0 * share, abs=1e-5)
            assert data["asymmetric"] is bool(share > 0.05)
    assert told > 0


def test_stating_the_densities_turns_an_axis_by_less_than_a_last_digit():
    """Each corner of what rounding may do, by the oracle; sin θ ≤ ‖ΔI‖ ÷ gap (Davis and Kahan).

    `turning` is ‖ΔI‖ by density; inertias part by 2 RG m times the gap of the RGs, or a bit more.
    """
    random, seen = np.random.default_rng(8), 0
    for kind in ["triaxial", "off axis"] * 10:
        line, densities = manufactured(random, kind, "cg")
        (ball,) = balls(line, densities)
        radii = ball.radii.radii
        for k in (0, 2):
            if ball.radii.axis(k) is None:
                continue
            seen += 1
            turned = []
            for way in product((-1.0, 1.0), repeat=len(densities)):
                near = np.array(densities) + 0.5e-4 * np.array(way)
                there = radii_and_axes(line.solids, near, "cg")[1][:, k]
                turned.append(np.linalg.norm(np.cross(ball.radii.axes[:, k], there)))
            gap = np.min(np.abs(np.delete(radii, k) - radii[k]))
            assert max(turned) <= 0.5e-4 * np.sum(ball.rg_difference_rate) / gap
            assert np.degrees(max(turned)) < 0.05
    assert seen >= 12


def test_a_uniform_ball_has_no_axes():
    (ball,) = balls(block((3.0, 4.0, 5.0)), (1.2, 1.2))
    assert set(axis_data(ball).values()) == {None}
    assert no_low_axis(ball.radii) == (
        "there is no low-RG axis to speak of (the three RGs are alike)"
    )
    assert psa_lines([ball], NAMES, INCHES) == ()
    (row, around, share) = axis_rows([ball], INCHES)
    assert (row[1], around[1], share[1]) == ("-", "-", "-")
    assert axis_place(ball.radii, 0) == axis_place(ball.radii, 2) == "none"


def test_a_symmetric_core_has_nothing_to_tell():
    """Tall about the pin: its low axis is the pin axis, and the two others are one of many."""
    (ball,) = balls(block((3.0, 3.0, 6.0)), (1.1, 2.0))
    assert list(axis_rows([ball], INCHES)) == []
    assert psa_lines([ball], NAMES, INCHES) == axis_lines([ball], NAMES, INCHES) == ()
    data = axis_data(ball)
    assert data["low_axis_from_pin_deg"] == 0.0
    assert data["psa_from_pin_deg"] is None
    assert (data["asymmetry_percent"], data["asymmetric"]) == (0.0, False)


def test_a_flat_core_has_no_low_axis_and_the_pin_has_the_high_rg():
    pair = balls(block((6.0, 6.0, 3.0), "16", "12"), (1.1, 2.0), (1.0, 1.5))
    assert axis_lines(pair, NAMES, INCHES) == (
        (
            "Every weight: there is no low-RG axis to speak of (the two lower RGs are alike); "
            "the pin axis has the high RG."
        ),
    )
    data = axis_data(pair[0])
    assert data["low_axis_from_pin_deg"] is data["low_axis_from_pin_in"] is None
    assert data["psa_from_pin_deg"] == 0.0
    assert data["psa_from_x_deg"] is None


@pytest.mark.parametrize(("angle", "side"), [(10.0, "within"), (20.0, "MORE THAN")])
def test_the_distance_of_the_low_axis_is_held_against_the_rulebook(angle, side):
    """10° are 0.749 in on this ball, 20° are 1.497 in; the rule says 1 in."""
    line = block((3.0, 3.0, 6.0), "16", "12", rotate=(angle, 0.0, 0.0))
    pair = balls(line, (1.1, 2.0), (1.0, 1.5))
    inches = np.radians(angle) * 4.29
    assert axis_lines(pair, NAMES, INCHES) == (
        (
            f"Every weight: the low-RG axis is not the pin axis but up to {angle}° from it, "
            f"{inches:.3f} in along the surface ({side} USBC's marking limit, 1.000 in)."
        ),
    )
    rows = {row[0].strip(): row[1:] for row in axis_rows(pair, INCHES)}
    assert rows["low-RG axis from pin, °"] == (f"{angle}",) * 2
    assert rows["on the surface, in"] == (f"{inches:.3f}",) * 2


def test_a_psa_that_turns_between_weights_is_told_with_its_distance():
    """Light the block has its high RG where the heavy one has its low: 90° apart, 45° each."""
    pair = balls(block((3.0, 5.5, 4.0), "16", "12"), (1.1, 2.0), (1.3, 0.8))
    axes = [radii_and_axes(block((3.0, 5.5, 4.0)).solids, ball.densities, "cg")[1] for ball in pair]
    assert degrees(axes[0][:, 2], axes[1][:, 2]) == pytest.approx(90.0)
    arc = np.pi / 4 * 4.29
    assert psa_data(pair) == pytest.approx({"16": arc, "12": arc})
    *_, told = psa_lines(pair, NAMES, INCHES)
    assert told == (
        "The PSA is not in one place in every weight: one mark for all would be "
        f"{arc:.3f} in along the surface from that of 16 lb at the least "
        "(MORE THAN USBC's marking limit, 1.500 in)."
    )


def test_a_psa_in_one_place_is_told_once():
    pair = balls(block((5.5, 3.0, 6.5), "16", "12"), (1.1, 2.0), (1.0, 1.8))
    assert psa_data(pair) == {"16": 0.0, "12": 0.0}
    assert psa_lines(pair, NAMES, INCHES) == (
        (
            "Every weight: asymmetric by USBC (high - intermediate RG is more than 5 % of the "
            "differential)."
        ),
    )
    assert axis_place(pair[0].radii, 2) == "equator, 90.0° from x"
    assert axis_place(pair[0].radii, 0) == "pin"
    assert "low-RG axis from pin, °" not in {row[0].strip() for row in axis_rows(pair, INCHES)}


@pytest.mark.parametrize(("more", "kind"), [(1.002, "symmetric"), (1.3, "asymmetric")])
def test_five_percent_decide_what_is_asymmetric(more, kind):
    """A tall block a little wider along y, whose inertia about x is then a little larger."""
    line = block((3.2, 3.2 * more, 6.4))
    (ball,) = balls(line, (1.1, 2.2))
    (low, middle, high), _ = radii_and_axes(line.solids, ball.densities, "cg")
    assert ((high - middle) / (high - low) > 0.05) == (kind == "asymmetric")
    (told, *_) = psa_lines([ball], NAMES, INCHES)
    assert told.startswith(f"15 lb: {kind} by USBC (high - intermediate RG is ")
    assert ("no PSA (high-RG axis) to speak of (the two higher" in told) == (kind == "symmetric")
    assert axis_data(ball)["asymmetric"] is (kind == "asymmetric")


@pytest.mark.parametrize("count", [1, 2, 3, 6])
def test_one_mark_is_as_near_to_the_farthest_axis_as_any(count):
    """Thousands of places on the sphere are no better; ends of an axis are alike."""
    random = np.random.default_rng(count)
    places = random.normal(size=(40_000, 3))
    places /= np.linalg.norm(places, axis=1)[:, None]
    for size in (0.1, 3.0):
        axes = np.array([0.3, -0.9, 0.2]) + size * random.uniform(-0.5, 0.5, (count, 3))
        axes *= random.choice([-1.0, 1.0], count)[:, None]
        axes /= np.linalg.norm(axes, axis=1)[:, None]
        found = float(np.max(nearest(axes)))
        tried = float(np.min(np.max(np.arccos(np.abs(places @ axes.T).clip(0, 1)), axis=1)))
        assert found - 1e-9 <= tried < found + 0.05


def test_axes_in_one_place_and_one_apart_have_their_mark_in_the_middle():
    """Two that are the same leave nothing between their ends."""
    x, y = np.eye(3)[0], np.array([0.6, 0.8, 0.0])
    half = np.arccos(0.6) / 2
    assert nearest(np.array([x, x, y])) == pytest.approx([half] * 3)
    assert nearest(np.array([x, -x])) == pytest.approx([0.0, 0.0])


def test_every_figure_that_is_told_has_its_source():
    for row in table("rulebook")["usbc"]["told"]:
        assert row["source"]
        assert row["grade"] in "ABCDS"
    assert len(RANGES) == 4


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (1e-5, "1.00001 in along the surface (MORE THAN USBC's marking limit, 1.00000 in)"),
        (-1e-5, "1.000 in along the surface (within USBC's marking limit, 1.000 in)"),
        (0.25, "1.250 in along the surface (MORE THAN USBC's marking limit, 1.000 in)"),
    ],
)
def test_an_axis_beyond_its_mark_is_told_with_the_digits_that_show_it(more, told):
    """The rule: 1.0 in from the pin. A concentric block that is turned turns its axis as far."""
    turned = float(np.degrees((1.0 + more) * INCH / RADIUS))
    some = balls(block((5.0, 4.5, 7.0), "15", rotate=(turned, 0.0, 0.0)), (1.2, 1.4))
    assert any(told in line for line in axis_lines(some, NAMES, INCHES))


def test_a_weight_without_a_psa_is_in_no_distance():
    """A block as dense as its cover is a uniform ball: the other's PSA stands alone."""
    pair = balls(block((5.5, 3.0, 6.5), "16", "12"), (1.2, 1.2), (1.0, 1.8))
    (told,) = psa_lines(pair, NAMES, INCHES)
    assert told.startswith("12 lb: asymmetric by USBC")
