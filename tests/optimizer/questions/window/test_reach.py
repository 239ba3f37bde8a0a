"""What one weight can reach, against scipy's linprog and against balls thrown at random."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from oracles.balls import about_centre, weight_and_radii
from oracles.lineups import INCH, Line, manufactured
from oracles.windows import farthest, outside, room, sampled
from whole import in_shares

from optimizer.lineup.claims import Kind, Other
from optimizer.questions.window.exact.bands import Band, box, shared
from optimizer.questions.window.exact.branch import branches
from optimizer.questions.window.reach import Reach, exactly, opened
from optimizer.questions.window.window import Window, window
from optimizer.scenario import linear_maps, scenario

ANGLES = np.arange(64) / 32 * np.pi
DIRECTIONS = np.column_stack([np.cos(ANGLES), np.sin(ANGLES)])
ERROR = 2e-5 * INCH


def _reach(line: Line, label: str = "15") -> Reach:
    asked = scenario(line.text(), file="line.toml", target_required=True)
    linear_map = next(linear_map for linear_map in linear_maps(asked) if linear_map.label == label)
    reach = exactly(branches(opened(linear_map)))
    assert reach is not None
    return reach


def _on_lines(bands: Sequence[Band], at: tuple[float, float]) -> list[tuple[float, float]]:
    """The ends of what bands have at the RG and at the differential of a point; none if nothing."""
    nowhere, (rg, differential) = [Other(Kind.NOWHERE)] * 4, at
    lines = [
        box((rg, rg), (0.0, 12.0), nowhere),
        box((0.0, 12.0), (differential, differential), nowhere),
    ]
    found = []
    for figure, line in zip((1, 0), lines, strict=True):
        points = [p.outline[:, figure] for band in bands for p in shared(band, line)]
        every = np.concatenate([*points, []])
        found.append((float(np.min(every, initial=np.inf)), float(np.max(every, initial=-np.inf))))
    return found


def _window(line: Line) -> Window:
    return window(scenario(line.text(), file="line.toml", target_required=True))


def _squares(outline: np.ndarray) -> np.ndarray:
    return np.column_stack([outline[:, 0] ** 2, (outline[:, 0] + outline[:, 1]) ** 2])


@in_shares(4)
def test_about_the_centre_the_farthest_points_are_linprogs(share):
    """64 directions, 100 random balls: the same linear program, stated from handbook formulas."""
    random, empty = np.random.default_rng(11), 0
    for line, _ in share(manufactured(random, "aligned", "centre") for _ in range(100)):
        known, reach = farthest(line, DIRECTIONS), _reach(line)
        empty += reach.empty
        assert (known is None) == reach.empty
        if known is None:
            continue
        outlines = np.vstack([band.outline for band in reach.bands])
        off = np.abs(np.max(_squares(outlines) @ DIRECTIONS.T, axis=0) - known)
        assert np.max(off) / (2 * np.min(outlines[:, 0])) <= 1e-7 * INCH
    assert empty < 10


@pytest.mark.turns(2)
@pytest.mark.parametrize(
    ("kind", "about"),
    [
        ("aligned", "cg"),
        ("aligned", "centre"),
        ("round", "cg"),
        ("round", "centre"),
        ("aligned triaxial", "centre"),
    ],
)
def test_along_two_lines_a_reach_is_that_of_the_whole_window(kind, about):
    """Asked through points in and around the window, some of them at its corners."""
    random, met = np.random.default_rng(21), 0
    for _ in range(4):
        line, _ = manufactured(random, kind, about)
        line = line.but(top=(None, 4.0))
        asked = scenario(line.text(), file="line.toml", target_required=True)
        linear_map = opened(linear_maps(asked)[0])
        whole = exactly(branches(linear_map))
        if whole is None or whole.empty:
            continue
        corners = np.vstack([band.outline for band in whole.bands])
        low, span = np.min(corners, axis=0), np.ptp(corners, axis=0)
        points = low + random.uniform(-0.2, 1.2, (12, 2)) * span
        points[:4] = random.choice(corners, 4) + random.normal(0.0, 1e-6, (4, 2))
        for at in points.tolist():
            through = exactly(branches(linear_map, tuple(at)))
            assert through is not None
            expected, found = _on_lines(whole.bands, at), _on_lines(through.bands, at)
            met += bool(np.all(np.isfinite(expected)))
            assert np.array(found) == pytest.approx(np.array(expected), abs=1e-11)
    assert met > 4


@pytest.mark.turns(3)
@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("top", [(None, 3.0), (0.8, 3.0), (None, None)])
def test_no_random_ball_is_outside_its_window(about, top):
    """Every ball that can be poured is a counter-example if it is outside."""
    random, thrown = np.random.default_rng(12), 0
    for _ in range(12):
        line, _ = manufactured(random, "aligned", about)
        line = line.but(top=top)
        points = sampled(line, "15", random, 40_000)
        reach = _reach(line)
        if not len(points):
            continue
        assert reach.bands
        far = np.min([outside(band.outline, points) for band in reach.bands], axis=0)
        assert np.max(far) <= ERROR
        thrown += len(points)
    assert thrown > 20_000


def test_about_the_cg_the_edge_is_where_it_is_told():
    """At random low RGs, 0.00001 in inside either edge a ball exists, as far outside none does.

    The oracle tries every height of the CG: with four solids each has one ball, by four equations.
    """
    random, seen = np.random.default_rng(13), 0
    while seen < 24:
        line, _ = manufactured(random, "aligned", "cg")
        line = line.but(top=(None, 3.0))
        (band,) = _reach(line).bands
        rg = float(random.uniform(*band.rg[[0, -1]]))
        low, high = (float(np.interp(rg, band.rg, line_.value)) for line_ in (band.low, band.high))
        step = 0.5 * ERROR
        if high - low < 4 * step:
            continue
        assert room(line, "15", rg, high - step) >= 0.0
        assert room(line, "15", rg, high + step) < 0.0
        if low > step:
            assert room(line, "15", rg, low + step) >= 0.0
            assert room(line, "15", rg, low - step) < 0.0
        seen += 1


def test_a_lower_edge_about_the_cg_is_no_hull():
    """Two corners with different CG heights: −c² bends the edge between them inward."""
    random = np.random.default_rng(14)
    bends = []
    for _ in range(10):
        line, _ = manufactured(random, "aligned", "cg")
        for band in _reach(line.but(top=(None, None))).bands:
            squares = _squares(np.column_stack([band.rg, band.low.value]))
            run, rise = np.diff(squares[:, 0]), np.diff(squares[:, 1])
            slopes = (rise / np.where(run > 0, run, 1.0))[run > 1e-6]
            bends.append(float(np.min(np.diff(slopes), initial=0.0)))
    assert min(bends) < -1e-3


@pytest.mark.turns(2)
@pytest.mark.parametrize("about", ["cg", "centre"])
def test_a_triaxial_core_reaches_what_random_balls_have(about):
    """Here the oracle measures each ball by itself, whichever of its axes is high."""
    random = np.random.default_rng(15)
    for _ in range(3):
        line, _ = manufactured(random, "aligned triaxial", about)
        line = line.but(top=(None, 4.0))
        reach = _window(line).weights[0].alone
        low, high = np.array(line.ranges).T
        masses = [about_centre(line.solids, densities)[0] for densities in np.eye(4)]
        points = []
        while len(points) < 100:
            x = low + random.beta(0.3, 0.3, 4) * (high - low)
            j = int(random.integers(4))
            x[j] += (line.weights["15"] - float(np.dot(masses, x))) / masses[j]
            if not low[j] <= x[j] <= high[j]:
                continue
            m, radii, cg = weight_and_radii(line.solids, x, about)
            inertia_z = _about_pin(line, x)
            if (
                abs(inertia_z - radii[0]) < 1e-9
                and abs(cg[2]) * m / (8.58 / 2 * INCH) < 4 * 28.3495
            ):
                points.append((radii[0], radii[2] - radii[0]))
        far = np.min([outside(band.outline, np.array(points)) for band in reach.bands], axis=0)
        assert np.max(far) <= max(2 * reach.error, ERROR)


def _about_pin(line: Line, x: Sequence[float]) -> float:
    mass, _, inertia = about_centre(line.solids, x)
    return float(np.sqrt(inertia[2, 2] / mass))


def test_with_a_least_top_weight_the_cg_may_be_on_either_side():
    """A block that can be lighter or denser than its host puts the CG below or above the centre."""
    random = np.random.default_rng(16)
    both = 0
    for _ in range(30):
        line, _ = manufactured(random, "aligned", "cg")
        both += len(_reach(line.but(top=(0.2, 4.0))).bands) > 1
    assert both > 0


def test_a_density_more_than_the_equations_is_needed_for_an_area():
    """Weight, RG and differential: two densities leave points of a line, one density a point."""
    random = np.random.default_rng(17)
    line, densities = manufactured(random, "aligned", "cg")
    while abs(_about_pin(line, densities) - line.rg[0]) > 1e-9:  # its pin axis is not low
        line, densities = manufactured(random, "aligned", "cg")
    line = line.but(top=(None, None))
    fixed = [(d, d) for d in densities]
    two = _reach(line.but(ranges=[line.ranges[0], fixed[1], fixed[2], line.ranges[3]]))
    (curve,) = two.bands
    assert two.area == 0.0
    assert len(curve.rg) > 1
    assert two.holds(line.rg[0], line.differential[0])
    point = _reach(line.but(ranges=[line.ranges[0], *fixed[1:]]))
    (band,) = point.bands
    assert np.allclose(band.outline, [[line.rg[0], line.differential[0]]], atol=1e-7)


def test_no_weight_no_window():
    """Nothing heavy enough can be poured."""
    line, _ = manufactured(np.random.default_rng(18), "aligned", "cg")
    assert _reach(line.but(weights={"15": 2 * line.weights["15"]})).empty


def test_the_rulebook_cuts_a_window_off(juniper):
    """USBC: a differential of at most 0.060 in; the corner is told as exactly that."""
    free = _lightest(juniper.replace('rulebook   = "usbc"', ""))
    held = _lightest(juniper)
    assert np.max(free.bands[0].outline[:, 1]) > 0.061 * INCH
    assert np.max(held.bands[0].outline[:, 1]) == pytest.approx(0.060 * INCH, abs=1e-12)
    assert "USBC differential max" in {c.words for _, by in held.bands[0].edges for c in by}
    assert held.area < free.area


def _lightest(text: str) -> Reach:
    asked = scenario(text, file="line.toml", target_required=True)
    reach = exactly(branches(opened(linear_maps(asked)[-1])))
    assert reach is not None
    return reach
