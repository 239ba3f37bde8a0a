"""The frontier of pours and margin: as good as trying everything, and true as result."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations, islice

import numpy as np
import pytest
from optimizer_texts import JUNIPER, read
from oracles.lineups import Line, manufactured
from oracles.sharing import smallest_margins

from optimizer.lineup.columns import columns
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.engine.search import best_found, search_rounds
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.rows import Lineup
from optimizer.questions.sharing.pour_links import links
from optimizer.questions.sharing.pours import Point
from optimizer.questions.sharing.sharing import GAIN, Frontier, frontier, worthwhile
from optimizer.scenario import Scenario, linear_maps, read_scenario
from optimizer.scenario.source.writing import with_same_density

ROUNDING = 0.5e-4 / 0.02
"""Tolerances: what stating a density to 0.0001 g/cm³ takes of a margin of ± 0.02 at the most."""


def line(seed: int, shares: Mapping[str, float], about: str = "centre") -> Line:
    """Weights around a manufactured ball's, with a top weight that doesn't stop them."""
    random_line, _ = manufactured(np.random.default_rng(seed), "aligned", about)
    mass = random_line.weights["15"]
    return random_line.but(weights={k: s * mass for k, s in shares.items()}, top=(None, 8.0))


LABELS = ("16", "15", "14", "13")
THREE = {"16": 1.05, "15": 1.0, "14": 0.95}


@pytest.fixture(scope="module")
def juniper() -> Scenario:
    return read_scenario(JUNIPER, target_required=True)


@pytest.fixture(scope="module")
def result(juniper: Scenario) -> Frontier:
    return frontier(juniper)


@pytest.mark.parametrize("seed", [6, 99])
def test_the_frontier_is_what_trying_everything_finds(seed: int) -> None:
    """3 weights × 4 parts: the oracle solves every one of the 256 choices that can be poured.

    Each link saves a pour. For every number of pours the frontier's margin is the largest there
    is, but for the rounding of stated densities and the gain that isn't worth a line.
    """
    random_line = line(seed, THREE)
    margins = smallest_margins(random_line)
    result = frontier(read(random_line.text()))
    assert len(result.points) > 1, "there is something to choose"
    assert result.points[-1].pours == 12 - max(len(choice) for choice in margins)
    for pours in range(result.points[-1].pours, 13):
        best = max(level for choice, level in margins.items() if 12 - len(choice) <= pours)
        point = result.at_most(pours)
        assert point is not None
        assert point.level == pytest.approx(best, abs=ROUNDING + GAIN * (point.pours < pours))
    assert result.at_most(result.points[-1].pours - 1) is None


def test_about_the_cg_no_pair_of_links_does_better() -> None:
    """The rows are tangents there; every choice of one or two links is solved for itself.

    Three links would be as many as there are densities to spare: 12 for 9 equations.
    """
    asked = read(line(99, THREE, "cg").text())
    result = frontier(asked)
    assert len(result.points) > 1
    links = [(part, pair) for part in asked.sharing for pair in (("16", "15"), ("15", "14"))]
    for count in (1, 2):
        best = max(climbed(asked, choice) for choice in combinations(links, count))
        point = result.at_most(12 - count)
        assert point is not None
        assert point.level == pytest.approx(best, abs=2 * ROUNDING), (count, point.pours)


def climbed(scenario: Scenario, links: tuple[tuple[str, tuple[str, str]], ...]) -> float:
    """Return the smallest margin with some links, climbed to with the pin low; or -inf."""
    sharing = {
        part: (LABELS[:3],) if len(pairs) == 2 else tuple(pairs)
        for part in scenario.sharing
        if (pairs := [pair for linked, pair in links if linked == part])
    }
    maps = linear_maps(scenario)
    lineup = Lineup(maps, columns(maps, sharing))
    rounds = islice(search_rounds(lineup, lineup.columns.middle), 1)
    best = best_found(lineup, LinearSolver(), rounds)
    levels = Rows.of(lineup.margin_rows(best.x)).levels(best.x)
    return float(np.min(levels)) if best.good else -np.inf


@pytest.mark.parametrize("seed", [6, 99])
def test_one_density_for_all_costs_what_the_oracle_says(seed: int) -> None:
    """Both links of one part and no other."""
    random_line = line(seed, THREE)
    margins = smallest_margins(random_line)
    result = frontier(read(random_line.text()))
    assert set(result.alone) == set(random_line.names)
    for part, point in result.alone.items():
        i = random_line.names.index(part)
        chosen = [level for c, level in margins.items() if {(i, 0), (i, 1)} <= c]
        assert (point is None) == (not chosen)
        if point is not None:
            assert point.level == pytest.approx(max(chosen), abs=ROUNDING)
            assert point.sharing[part] == (("16", "15", "14"),)


def test_a_point_is_true_as_told(result: Frontier) -> None:
    """Pours are counted from the stated densities, and what shares a density is one of them."""
    assert [p.pours for p in result.points] == sorted(
        (p.pours for p in result.points), reverse=True
    )
    assert result.points[-1].pours < result.own.pours
    for point in (result.own, *result.points):
        assert point.found
        poured = {
            (pour.material, density)
            for weight in point.result.weights
            for pour, density in zip(
                weight.ball.map.pours, weight.ball.densities.tolist(), strict=True
            )
        }
        assert point.pours == len(poured)
        assert point.level == min(m.tolerances for m in point.result.margins if m.movable)


def test_the_written_scenario_solves_to_what_was_told(juniper: Scenario, result: Frontier) -> None:
    """To the last digit, and every line of the file is still there, in its order."""
    for point in result.points:
        text = with_same_density(juniper, point.sharing)
        solved = Point(point.sharing, solve_lineup(read(text)))
        assert (solved.pours, solved.level) == (point.pours, point.level)
        kept = [ln for ln in text.splitlines(keepends=True) if not ln.startswith("same_density")]
        assert "".join(kept) == juniper.source
        assert text != juniper.source


def test_what_the_scenario_shares_stays_shared(juniper: Scenario) -> None:
    """16 and 14 lb are no neighbours; a link then joins the group with the weight between."""
    groups = '[["16", "14"], ["15", "13"]]'
    text = juniper.source.replace('# same_density = "all" ', f"same_density = {groups} #")
    result = frontier(read(text))
    assert result.points
    for point in result.points:
        cover = {frozenset(group) for group in point.sharing["cover"]}
        assert cover in ({frozenset({"16", "14"}), frozenset({"15", "13"})}, {frozenset(LABELS)})
    alone = result.alone["cover"]
    assert alone is not None
    assert alone.sharing["cover"] == (LABELS,)
    asked = read(text.replace(groups, '"all"'))
    assert alone.level == Point({}, solve_lineup(asked)).level


def test_a_given_density_is_one_pour_for_all_that_take_it(ranges: str) -> None:
    """Cover and mantle of one material at one given density: a single recipe, nothing to link."""
    text = ranges.replace("[1.12, 1.22]\n", "1.17\n").replace(
        'material = "light"', 'material = "shell"'
    )
    start, _, rest = text.partition("[materials.light]")
    text = start + rest[rest.index("[materials.filled]") :]
    text = text.replace("rg           = 2.550", "rg = { min = 2.4, max = 2.8 }")
    text = text.replace("differential = 0.040", "differential = { min = 0, max = 0.1 }")
    text = text.replace("14 = { target = 14.12, tolerance = 0.05 }", "")
    text = text.replace("13 = 13.12", "").replace("15 = 15.12", "15 = 15.80")
    result = frontier(read(text))
    assert result.own.found
    given = [r for r in result.own.recipes if r.material == "shell"]
    assert len(given) == 1
    assert len(given[0].poured) == 4
    assert set(result.alone) == {"spindle", "keel", "girdle"}
    assert result.own.pours == 1 + 2 * 3


def test_a_single_weight_has_nothing_to_share() -> None:
    result = frontier(read(line(6, {"15": 1.0}).text()))
    assert [point.pours for point in result.points] == [4]
    assert result.points == (result.own,)
    assert result.alone == {}


def test_an_infeasible_line_has_no_frontier() -> None:
    """A class weight that no density in its range makes."""
    result = frontier(read(line(6, {"16": 1.0, "15": 2.0}).text()))
    assert result.own.result.status == "infeasible"
    assert (result.points, result.at_most(99)) == ((), None)


def test_without_tolerances_only_the_pours_count() -> None:
    """No margin is told then: the fewest pours that were found are all there is to say."""
    text = "\n".join(
        ln for ln in line(6, THREE).text().splitlines() if not ln.startswith("tolerance = 0.02")
    ).replace(", tolerance = 0.25", "")
    assert "tolerance" not in tomllib.loads(text)["materials"]["cover"]
    (point,) = frontier(read(text)).points
    assert point.smallest is None
    assert point.pours == 12 - max(len(choice) for choice in smallest_margins(line(6, THREE)))


def test_neighbours_are_neighbours_in_weight_not_in_the_file(juniper: Scenario) -> None:
    """15 and 14 lb in each other's place in the file: their links are the same pairs as before."""
    lines = juniper.source.splitlines(keepends=True)
    i = next(i for i, ln in enumerate(lines) if ln.startswith("15 ="))
    lines[i : i + 2] = lines[i + 1], lines[i]
    for text in (juniper.source, "".join(lines)):
        asked = read(text)
        maps = linear_maps(asked)
        lineup = Lineup(maps, columns(maps, {}))
        label = {
            int(column): linear_map.label
            for linear_map, row in zip(maps, lineup.columns.poured, strict=True)
            for column in row
        }
        pairs = [(label[k.first], label[k.second]) for k in links(lineup) if k.part == "cover"]
        assert pairs == [("16", "15"), ("15", "14"), ("14", "13")]


@dataclass(frozen=True)
class Said:
    """A point as far as its worth goes."""

    pours: int
    level: float


def test_a_pour_that_brings_no_margin_is_left_out() -> None:
    """Of equal pours the larger margin counts; more pours only with at least GAIN more of it."""
    tried = [(20, 3.2), (15, 3.2), (14, 2.8), (14, 3.0), (13, 2.68), (16, 3.24), (12, 0.5)]
    kept = worthwhile(Said(*figures) for figures in tried)
    assert [(p.pours, p.level) for p in kept] == [(15, 3.2), (14, 3.0), (13, 2.68), (12, 0.5)]
