"""What a pour is worth is what its scenario is solved to; a pour taken away is found again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from grow_balls import planted
from whole import Share, in_shares

from optimizer.lineup.moulds.starts import Starts
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.questions.grow.grown import Growth
from optimizer.questions.grow.growth import growth
from optimizer.scenario import read_again, read_scenario, scenario
from optimizer.scenario.source.part_tables import without_part
from shared.errors import InputError

SCENARIOS = Path(__file__).parents[4] / "scenarios"
ROUNDED = 0.01
"""Tolerances: what stating densities and lengths may cost."""


def solved(text: str) -> LineupResult:
    return solve_lineup(scenario(text, file="line.toml", target_required=True))


def checked(found: Growth) -> Iterator[str]:
    """Yield each line whose scenario doesn't solve to the margin told."""
    for line in found.each:
        again = solved(line.text)
        if (again.status, again.smallest and again.smallest.tolerances) != (
            line.result.status,
            line.result.smallest and line.result.smallest.tolerances,
        ):
            yield line.what


@pytest.fixture(scope="module")
def fewer() -> Growth:
    juniper = read_scenario(SCENARIOS / "juniper.toml", target_required=True)
    return growth(solve_lineup(juniper), "fewer", 1, Starts())


def test_each_part_but_the_ball_is_taken_away(fewer: Growth) -> None:
    names = {"mantle", "spindle", "keel", "girdle"}
    assert {line.what for line in fewer.each} == {f"without {name}" for name in names}
    assert [line.rank for line in fewer.each] == sorted(
        (line.rank for line in fewer.each), reverse=True
    )


def test_each_line_solves_to_the_margin_told(fewer: Growth) -> None:
    assert not list(checked(fewer))
    source = (SCENARIOS / "juniper.toml").read_text(encoding="utf-8")
    keel = next(line for line in fewer.each if line.what == "without keel")
    assert keel.text == without_part(source, "keel")


def test_a_lone_ball_can_lose_nothing() -> None:
    juniper = solve_lineup(read_scenario(SCENARIOS / "two-pours.toml", target_required=True))
    text = without_part(juniper.scenario.source, "block")
    ball = read_again(replace(juniper.scenario.written, source=text), {})
    with pytest.raises(InputError, match="no part can go"):
        growth(solve_lineup(ball), "fewer", 1, Starts())


@pytest.mark.slow
@in_shares(100)
def test_a_pour_that_was_taken_away_is_found_again(share: Share) -> None:
    """Of 100 random balls: what is found is at least as good as what was planted."""
    for seed in share(range(100)):
        whole, less, _ = planted(seed)
        best = solved(whole)
        found = growth(solved(less), "more", 1, Starts(count=2))
        assert best.status == "feasible"
        assert best.smallest is not None
        assert found.each[0].result.status == "feasible"
        assert found.each[0].rank[2] >= (best.smallest.tolerances or 0.0) - ROUNDED
        assert not list(checked(found))
