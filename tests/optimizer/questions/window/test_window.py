"""What several weights can share, and two roads to the same window."""

from __future__ import annotations

import numpy as np
import pytest
from answers import reachable
from optimizer_texts import read, shipped
from oracles.lineups import INCH, Line, manufactured
from oracles.windows import farthest, outside
from whole import in_shares

from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.columns import columns
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.questions.window.exact.branch import LOW, Branch, branches
from optimizer.questions.window.exact.plane_program import PlaneProgram
from optimizer.questions.window.exact.shared_bands import polygon_band, tangent_band
from optimizer.questions.window.reach import Reach, exactly, opened
from optimizer.questions.window.window import Window, quick, window
from optimizer.scenario import Scenario, linear_maps, scenario
from shared.errors import InputError

ANGLES = np.arange(64) / 32 * np.pi
DIRECTIONS = np.column_stack([np.cos(ANGLES), np.sin(ANGLES)])
ERROR = 2e-5 * INCH


def _window(text: str) -> Window:
    return window(scenario(text, file="line.toml", target_required=False))


def _three(random: np.random.Generator, about: str, **same: str) -> Line:
    line, _ = manufactured(random, "aligned", about)
    m = line.weights["15"]
    weights = {"16": 1.03 * m, "15": m, "14": 0.96 * m}
    return line.but(weights=weights, top=(None, 4.0), same=same)


def _off(reach: Reach, known: np.ndarray) -> float:
    """Return how far the farthest points (u, v) in all directions are from the known ones, cm."""
    outline = np.vstack([band.outline for band in reach.bands])
    squares = np.column_stack([outline[:, 0] ** 2, np.sum(outline, axis=1) ** 2])
    off = np.abs(np.max(squares @ DIRECTIONS.T, axis=0) - known)
    return float(np.max(off) / (2 * np.min(outline[:, 0])))


def _pin_low(linear_map: LinearMap, asked: Scenario) -> Branch:
    (branch,) = (branch for branch in branches(linear_map) if branch.pin == LOW)
    return branch


@pytest.mark.turns(2)
@pytest.mark.parametrize("part", ["cover", "block"])
def test_one_density_in_all_weights_is_asked_of_the_whole_line(part):
    """The farthest shared points are those of one linear program over all weights, by scipy.

    Single windows laid over each other would claim more: the last assertion.
    """
    random, smaller, seen = np.random.default_rng(21), 0, 0
    for _ in range(6):
        line = _three(random, "centre", **{part: '"all"'})
        windows = _window(line.text())
        assert windows.common.proven
        same = [line.names.index(part)]
        known = farthest(line, DIRECTIONS, same)
        assert (known is None) == windows.common.empty
        if known is None:
            continue
        seen += 1
        # the outline is laid over the single windows, whose lines are off by their error
        assert _off(windows.common, known) <= 2 * ERROR
        laid_over = _window(line.but(same={}).text()).common
        assert windows.common.area <= laid_over.area * (1 + 1e-9)
        smaller += windows.common.area < 0.99 * laid_over.area
    assert seen > 1
    assert smaller > 0


def test_with_nothing_shared_the_window_is_what_lies_in_all():
    """64 directions of the whole line's program, with no density tied."""
    random, seen = np.random.default_rng(22), 0
    for _ in range(6):
        line = _three(random, "centre")
        common = _window(line.text()).common
        known = farthest(line, DIRECTIONS)
        assert (known is None) == common.empty
        if known is None:
            continue
        seen += 1
        assert _off(common, known) <= 2 * ERROR
    assert seen > 2


def test_chords_find_the_polygon_that_enumeration_finds():
    """Two roads to one polygon: linear programs along chords' normals, and all its corners."""
    random = np.random.default_rng(23)
    for _ in range(10):
        line, _ = manufactured(random, "aligned", "centre")
        asked = scenario(line.text(), file="line.toml", target_required=True)
        linear_map = opened(linear_maps(asked)[0])
        branch = _pin_low(linear_map, asked)
        exact = exactly([branch])
        program = PlaneProgram([branch], columns((linear_map,), {}), LinearSolver())
        drawn = polygon_band(program)
        assert exact is not None
        if exact.empty:
            assert drawn is None
            continue
        assert drawn is not None
        assert np.max(outside(exact.bands[0].outline, drawn[0].outline)) <= ERROR
        assert np.max(outside(drawn[0].outline, exact.bands[0].outline)) <= ERROR


@in_shares(4)
def test_tangents_find_what_slices_prove(share):
    """About the CG: the program solved again and again, and the slices of the polytope."""
    random = np.random.default_rng(24)
    for line, _ in share(manufactured(random, "aligned", "cg") for _ in range(8)):
        asked = scenario(line.text(), file="line.toml", target_required=True)
        linear_map = opened(linear_maps(asked)[0])
        branch = _pin_low(linear_map, asked)
        exact = exactly([branch])
        program = PlaneProgram([branch], columns((linear_map,), {}), LinearSolver())
        drawn = tangent_band(program)
        assert exact is not None
        if exact.empty:
            assert drawn is None
            continue
        assert drawn is not None
        assert np.max(outside(exact.bands[0].outline, drawn[0].outline)) <= 2 * ERROR
        assert np.max(outside(drawn[0].outline, exact.bands[0].outline)) <= 2 * drawn[1] + 2 * ERROR


@pytest.mark.turns(4, "yew")
def test_a_window_that_is_sought_is_told_to_0_00002_in():
    windows = reachable("yew")
    assert not windows.common.proven
    assert max(weight.alone.error for weight in windows.weights) < ERROR


@pytest.mark.turns(4)
def test_a_tilted_core_is_found_but_not_proven():
    """Each corner of the window is a ball: the manufactured one is inside."""
    line, _ = manufactured(np.random.default_rng(26), "tilted 15", "cg")
    windows = _window(line.text())
    assert not windows.common.proven
    band = windows.common.bands[0]
    assert band.holds(line.rg[0], line.differential[0], windows.common.error)


@pytest.mark.slow
def test_shared_about_the_cg_lies_in_every_single_window(juniper):
    text = juniper.replace('material = "shell"\n', 'material = "shell"\nsame_density = "all"\n', 1)
    windows, free = _window(text), reachable("juniper")
    assert not windows.common.proven
    assert 0.0 < windows.common.area < free.common.area
    for weight in windows.weights:
        far = outside(weight.alone.bands[0].outline, windows.common.bands[0].outline)
        assert np.max(far) <= 2 * ERROR


def test_the_weight_that_narrows_most_is_the_one_whose_leaving_gains_most():
    windows = reachable("juniper")
    areas = {weight.map.label: weight.without.area for weight in windows.weights if weight.without}
    assert windows.narrowest is not None
    assert windows.narrowest.map.label == max(areas, key=lambda label: areas[label])
    assert all(area >= windows.common.area * (1 - 1e-6) for area in areas.values())


def test_every_edge_of_an_exact_window_knows_its_limits(ranges):
    """And moving the limit that is named first moves the edge."""
    windows = _window(ranges)
    (band,) = windows.common.bands
    long = [(points, by) for points, by in band.edges if np.ptp(points[:, 0]) > 0.01]
    assert len(long) > 4
    assert all(by for _, by in long)
    points, by = max(long, key=lambda edge: float(np.ptp(edge[0][:, 0])))
    middle = points[len(points) // 2]
    first = by[0]
    assert first.words in {"density min", "density max"}
    end = {"cover": ("[1.12, 1.22]", "[1.13, 1.21]")}[str(first.of)]
    narrower = _window(ranges.replace(*end)).common.bands[0]
    assert not narrower.holds(*middle.tolist())


def test_a_wall_under_its_least_is_told(juniper):
    windows = _window(juniper.replace("wall       = { min = 0.20", "wall       = { min = 0.25"))
    assert {m.words for m in windows.broken} == {"wall min"}


@pytest.mark.turns(4)
def test_a_window_whose_tip_rounding_misses_is_there_all_the_same(alder):
    """At the tip of a shared window a slice is one point, which a program may miss by a hair."""
    windows = _window(
        alder.replace('material = "shell"', 'material = "shell"\nsame_density = "all"')
    )
    assert windows.common.bands


@pytest.mark.parametrize(
    ("weights", "same", "what"),
    [
        (41, "", "has 41 weights; windows can be asked of at most 40"),
        (16, 'same_density = "all"\n', "ties 65 densities together; windows can be asked of at"),
    ],
)
def test_more_than_can_be_asked_is_refused_and_left_out_of_a_report(weights, same, what):
    """16 weights of Juniper's five parts with one cover: 16 × 4 + 1 densities."""
    before, _, rest = shipped("juniper").partition("[weights]")
    classes = "".join(f'"{13 + k / 20:.2f}" = {13 + k / 20:.2f}\n' for k in range(weights))
    text = f"{before}[weights]\n{classes}\n{rest[rest.index('[ingredients]') :]}"
    asked = read(text.replace("[[parts]]\n", f"[[parts]]\n{same}", 1))
    with pytest.raises(InputError, match=what):
        window(asked)
    assert not quick(asked)
