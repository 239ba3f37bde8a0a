"""Candidates: what they are, and what is found of each, against solving it as a plain scenario."""

from __future__ import annotations

import tracemalloc
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from optimizer_texts import SHELLS, read, shipped
from store import stored

from optimizer.lineup.moulds import pools
from optimizer.lineup.moulds.pools import pool
from optimizer.lineup.moulds.rack import chosen
from optimizer.lineup.pipeline import solve_lineup
from optimizer.questions.explore import candidate as candidates
from optimizer.questions.explore import explore
from optimizer.questions.explore.candidate import Candidate, candidate
from optimizer.questions.explore.explore import explored, most, points, to_pick
from optimizer.scenario import Written, scenario
from shared.errors import InputError, SolverError

INCH = 2.54
ROOT = Path(__file__).parents[4]
ELDER = shipped("elder")
RACK = "tall  = { one_of = [5.90, 6.20, 6.45, 6.55] }"
WIDE = """
bed   = { min = 7.2, max = 7.7 }
belly = { min = 2.8, max = 4.0 }
tall  = { min = 5.2, max = 6.6 }
lift  = { min = 0.0, max = 0.5 }
band  = { min = 4.2, max = 5.4 }
"""


def _points(text, numbers, seed=1):
    asked = read(text)
    return list(points(asked, to_pick(asked), seed, numbers))


def _explored(text, count, jobs=1):
    asked = read(text)
    return list(explored(asked, to_pick(asked), 1, range(count), pool(jobs)))


_candidates = stored(_explored)


def _with(text, dimensions):
    """The scenario's text with other dimensions."""
    head, _, rest = text.partition("[dimensions]\n")
    return head + f"[dimensions]\n{dimensions}\n" + rest[rest.index("[materials") :]


def _plain(text, values):
    """The scenario's text with its dimensions written as numbers."""
    names = [one.of.name for one in to_pick(read(text))]
    lines = (f"{name} = {value!r}" for name, value in zip(names, values, strict=True))
    return _with(text, "\n".join(lines))


def _wide():
    """Five free dimensions, two of them in other parts: some moulds can't be, some miss."""
    text = _with(ELDER, WIDE).replace("diameter = 7.480", 'diameter = "bed"')
    return text.replace("diameter = 4.80,", 'diameter = "band",')


def test_candidates_cover_the_box_and_are_stated_as_they_are_cut():
    found = _points(ELDER, range(1, 65))
    assert len(set(found)) == 64
    for values, (low, high) in zip(
        zip(*found, strict=True), ((3.0, 3.8), (5.8, 6.6), (0.15, 0.45)), strict=True
    ):
        assert all(value == round(value, 3) for value in values)
        for k in range(4):  # a scrambled Sobol set of 64 has 16 in every quarter
            side = (high - low) / 4
            in_quarter = sum(low + k * side <= v < low + (k + 1) * side for v in values)
            assert abs(in_quarter - 16) <= 1


def test_a_candidate_does_not_hang_on_those_before_it():
    whole = _points(ELDER, range(20))
    assert _points(ELDER, range(7, 20)) == whole[7:]
    assert _points(ELDER, range(1, 2)) == whole[1:2]
    assert _points(ELDER, range(20), seed=2) != whole


def test_the_first_candidate_is_the_drawing_as_it_stands():
    """As the file gives it, to its last digit: the start, else mid-range, else the first mould."""
    text = ELDER.replace("start = 3.30", "start = 3.3125")
    assert _points(text, range(1)) == [(3.3125, 6.2, 0.3)]
    assert _points(text.replace("tall  = { min = 5.80, max = 6.60 }", RACK), range(2))[0] == (
        3.3125,
        5.90,
        0.3,
    )
    metric = _points(SHELLS, range(1))
    assert metric == [(150.0,)]


def test_a_mould_within_a_limit_without_a_tolerance_has_its_margin():
    """The top weight lies at a bare maximum, which the densities as stated keep.

    Then, too, the margin is that of `solve`: without it the best mould would not be ranked.
    """
    bare = ELDER.replace("max = 4.0, tolerance = 0.25", "max = 2.37")
    assert bare != ELDER
    text = _plain(bare, (3.455, 6.465, 0.246))
    result = solve_lineup(read(text))
    tops = [m for w in result.weights for m in w.margins if m.words == "top weight max"]
    assert result.status == "feasible"
    assert 0.0 <= min(margin.slack for margin in tops) < 0.1
    found = candidates.cast(read(text))
    assert (found.status, found.margin) == ("feasible", result.smallest.tolerances)


def test_within_tolerance_is_a_status_of_a_candidate():
    """The reach ends at a differential of 0.0496 in: 0.0500 is 0.2 of this tolerance beyond it."""
    text = _plain(ELDER, (3.455, 6.465, 0.246)).replace(
        "differential = 0.048", "differential = 0.050"
    )
    wide = text.replace("differential = 0.001 }", "differential = 0.002 }")
    assert wide != text
    found, result = candidates.cast(read(wide)), solve_lineup(read(wide))
    assert found.status == result.status == "within_tolerance"
    assert found.margin == result.smallest.tolerances
    offs = [abs(weight.ball.radii.differential / INCH - 0.050) / 0.002 for weight in result.weights]
    assert found.off >= max(offs) - 1e-9
    assert 0.0 < found.off < 0.25


def test_the_rack_takes_its_share_among_free_dimensions():
    found = _points(ELDER.replace("tall  = { min = 5.80, max = 6.60 }", RACK), range(1, 33))
    assert sorted(values[1] for values in found) == sorted([5.90, 6.20, 6.45, 6.55] * 8)
    assert len({values[0] for values in found}) > 28


def test_a_rack_alone_is_gone_through_in_turn():
    text = _with(ELDER, f"belly = {{ one_of = [3.3, 3.5] }}\n{RACK}\nlift = 0.3")
    asked = read(text)
    assert most(to_pick(asked)) == 8
    assert _points(text, range(8))[3:6] == [(3.3, 6.55), (3.5, 5.90), (3.5, 6.20)]
    assert most(to_pick(read(ELDER))) is None


def test_weights_have_what_they_do_not_share_for_themselves():
    text = ELDER.replace("start = 3.30 }", 'start = 3.30, same = [["16", "15"]] }')
    asked = read(text)
    some = to_pick(asked)
    assert [(one.of.name, one.labels) for one in some][:3] == [
        ("belly", ("16", "15")),
        ("belly", ("14",)),
        ("belly", ("13",)),
    ]
    told = chosen(some, (3.1, 3.2, 3.3, 6.0, 0.2))
    assert told["belly"] == {"16": 3.1, "15": 3.1, "14": 3.2, "13": 3.3}
    assert set(told["tall"].values()) == {6.0}


def test_nothing_free_is_one_clear_error():
    with pytest.raises(InputError, match="no dimension is free"):
        to_pick(read(shipped("juniper")))


@pytest.mark.turns(2)
@pytest.mark.parametrize("text", [ELDER, _wide()], ids=["elder", "wide"])
def test_a_row_is_what_solve_says_of_that_scenario(text):
    """Feasible or not, and the same smallest margin, of the same limit, to the stated density."""
    statuses = set()
    for values, found in _candidates(text, 8):
        statuses.add(found.status)
        if found.status == "no mould":
            with pytest.raises(InputError):
                read(_plain(text, values))
            continue
        result = solve_lineup(read(_plain(text, values)))
        assert (found.status == "feasible") == (result.status == "feasible")
        if found.status == "feasible":
            told = result.smallest
            assert found.margin == pytest.approx(told.tolerances, abs=1e-9)
            assert (found.limit, found.weight, found.part) == (told.words, told.weight, told.part)
    assert statuses == (
        {"feasible", "limit broken"} if text == ELDER else {"limit broken", "no mould"}
    )


def test_a_broken_limit_is_as_near_as_any_densities_come():
    """One tolerance more than is missing on every density's range makes it feasible, less doesn't.

    The margin is −m: with all ranges and walls wider by m tolerances and a little it can be done.
    """
    values, found = next(one for one in _candidates(ELDER, 8) if one[1].limit == "density max")
    assert found.status == "limit broken"

    def wider(by):
        text = _plain(ELDER, values)
        for low, high, tolerance in ((1.12, 1.22, 0.010), (0.62, 1.45, 0.015), (1.0, 2.9, 0.025)):
            text = text.replace(
                f"[{low:.2f}, {high:.2f}]", f"[{low - by * tolerance!r}, {high + by * tolerance!r}]"
            )
        return text.replace("[1.60, 3.60]", f"[{1.6 - by * 0.03!r}, {3.6 + by * 0.03!r}]")

    for by, status in ((0.01, "feasible"), (-0.01, "infeasible")):
        asked = read(wider(-found.margin + by))
        assert solve_lineup(asked, exact=True).status == status


@pytest.mark.turns(2)
@pytest.mark.parametrize("about", ["cg", "centre"])
def test_the_ends_of_the_reach_are_feasible_and_beyond_them_is_proven_impossible(about):
    """Solve is asked for a target just inside and just outside, at 2e-5 in."""
    text = ELDER.replace('"cg"', f'"{about}"')
    values, found = next(one for one in _candidates(text, 8) if one[1].status == "feasible")
    assert found.reach.certainty == "exact"

    def status(rg, differential):
        plain = _plain(text, values).replace("rg           = 2.550", f"rg = {rg!r}")
        asked = read(plain.replace("differential = 0.048", f"differential = {differential!r}"))
        return solve_lineup(asked, exact=True).status

    for sign, end in zip((-1.0, 1.0), found.reach.differential, strict=True):
        assert status(2.55, end / INCH - sign * 2e-5) == "feasible"
        assert status(2.55, end / INCH + sign * 2e-5) == "infeasible"
    for sign, end in zip((-1.0, 1.0), found.reach.rg, strict=True):
        assert status(end / INCH - sign * 2e-5, 0.048) == "feasible"
        assert status(end / INCH + sign * 2e-5, 0.048) == "infeasible"


def test_off_the_pin_axis_the_margin_is_told_and_no_reach():
    text = ELDER.replace("at       = [0, 0, 0.20]", "at = [0.02, 0, 0.20]")
    text = text.replace("14 = 14.12\n13 = 13.12\n", "")
    _, found = next(one for one in _candidates(text, 4) if one[1].status != "no mould")
    assert found.margin is not None
    assert found.reach == candidates.Shared(None, None, "not sought")


def test_one_density_for_all_weights_has_its_reach_found():
    """About the CG that isn't proven; about the centre it is."""
    text = ELDER.replace('material = "shell"\n', 'material = "shell"\nsame_density = "all"\n', 1)
    values = (3.455, 6.465, 0.246)
    for about, certainty in (("cg", "found"), ("centre", "exact")):
        told = scenario(
            _plain(text, values).replace('"cg"', f'"{about}"'), file="x", target_required=True
        )
        alone = scenario(
            _plain(ELDER, values).replace('"cg"', f'"{about}"'), file="x", target_required=True
        )
        of = 2.55 * INCH, 0.048 * INCH
        tied, free = candidates.reach(told, *of), candidates.reach(alone, *of)
        assert (tied.certainty, free.certainty) == (certainty, "exact")
        assert tied.differential[0] >= free.differential[0] - 1e-6
        assert tied.differential[1] <= free.differential[1] + 1e-6


def test_a_free_figure_is_told_as_it_was_chosen():
    text = ELDER.replace("rg           = 2.550", "rg = { min = 2.52, max = 2.56 }")
    found = [one for _, one in _candidates(text, 4) if one.status == "feasible"]
    assert found
    for one in found:
        rg, differential = one.figures
        assert 2.52 <= rg / INCH <= 2.56
        low, high = one.reach.differential
        assert low - 1e-5 <= differential <= high + 1e-5


def test_a_limit_without_a_tolerance_decides_though_it_has_no_margin():
    text = ELDER.replace("wall       = { min = 0.20, tolerance = 0.02, ", "wall = { min = 0.40, ")
    found = [one for _, one in _candidates(text, 4)]
    assert {one.status for one in found} == {"limit broken"}
    assert {one.limit for one in found} == {"wall min"}
    assert {one.margin for one in found} == {None}


def test_a_solver_that_fails_costs_one_candidate_only(monkeypatch):
    def fails(*_arguments):
        raise SolverError("no answer")

    values = {"belly": 3.5, "tall": 6.4, "lift": 0.25}
    asked = read(ELDER)
    told = chosen(to_pick(asked), list(values.values()))
    sound = candidate(Written(ELDER, "elder.toml", {}), told)
    monkeypatch.setattr(candidates.LineReach, "common", fails)
    assert candidate(Written(ELDER, "elder.toml", {}), told) == replace(
        sound, reach=candidates.Shared(None, None, "unknown")
    )
    monkeypatch.setattr(candidates, "solutions", lambda *_, **_how: fails())
    assert candidate(Written(ELDER, "elder.toml", {}), told).status == "not solved"


def test_more_jobs_come_to_the_same_in_the_same_order():
    text = SHELLS.replace("min = 100.0, max = 200.0", "min = 140.0, max = 200.0")
    here, there = (_explored(text, 12, jobs) for jobs in (1, 2))
    assert here == there
    assert {one.status for _, one in here} >= {"feasible", "limit broken"}


@contextmanager
def _thread():
    """A pool with a thread beside this one."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(pools, "_processes", ThreadPoolExecutor)
        with pool(2)() as workers:
            yield workers


@pytest.mark.parametrize("runs", [pool(), _thread], ids=["here", "beside"])
def test_candidates_are_handed_on_and_not_kept(monkeypatch, runs):
    """Of candidates that take no time: twenty thousand need no more memory than two thousand."""
    monkeypatch.setattr(explore, "candidate", _nothing)
    asked, peaks = read(ELDER), []
    some = to_pick(asked)
    for count in (2_000, 20_000):
        tracemalloc.start()
        try:
            numbers = range(count)
            assert sum(1 for _ in explored(asked, some, 1, numbers, runs)) == count
            peaks.append(tracemalloc.get_traced_memory()[1])
        finally:
            tracemalloc.stop()
    assert peaks[1] - peaks[0] < 200_000


def _nothing(_written, _chosen):
    return Candidate("no mould")
