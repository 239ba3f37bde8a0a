"""Dimensions picked together with the densities: against closed forms, enumeration, differences."""

from __future__ import annotations

import itertools
from contextlib import suppress
from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest
from optimizer_texts import SHELLS, read, shipped
from oracles.distances import least_distance, placed, turned

from optimizer.lineup.moulds import pools
from optimizer.lineup.moulds.pools import pool
from optimizer.lineup.moulds.rack import Alone
from optimizer.lineup.moulds.search import MouldSearch
from optimizer.lineup.moulds.starts import Starts, from_start, groups, poured, start_points
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import SearchInterruptedError
from shared import stopping
from shared.activity import Series
from shared.errors import InputError, UnbuildableError, UndecidedError

INCH = 2.54
ELDER = shipped("elder")


def _best(text, how=Starts()):  # noqa: B008 - frozen
    return solve_lineup(read(text), how)


@cache
def _elder():
    """The example solved, from a few starts."""
    return _best(ELDER, Starts(count=3))


def _picked(result, label="16"):
    return {name: by_label[label] for name, by_label in result.scenario.chosen.items()}


def _dims(text, **values):
    """The scenario's text with its dimensions written anew."""
    lines = [f"{name} = {value}" for name, value in values.items()]
    head, _, rest = text.partition("[dimensions]\n")
    return head + "[dimensions]\n" + "\n".join(lines) + "\n\n" + rest[rest.index("[materials") :]


def test_concentric_spheres_reach_the_optimum_that_is_known():
    """Cover density a and mantle density b of concentric spheres, s = r/R, in closed form.

    With μ = m / V_R and κ = RG² / (0.4 R²): a(1 − s³) + b s³ = μ and a(1 − s⁵) + b s⁵ = μκ, so that
    a = μ (1 − (1 − κ)/(1 − s²)). All covers grow lighter as s grows; the smallest margin is largest
    where the heaviest is as far from the top as the lightest from the bottom:
    a₁ + a₂ = low + high, hence 1 − s² = (1 − κ) / (1 − (low + high)/(μ₁ + μ₂)).
    """
    R, low, high = 10.85, 0.90, 1.27
    mu = np.array([7000.0, 6000.0]) / (4 / 3 * np.pi * R**3)
    kappa = 6.6**2 / (0.4 * R**2)
    rest = (1 - kappa) / (1 - (low + high) / mu.sum())
    cover = mu * (1 - (1 - kappa) / rest)
    (lineup,) = groups(read(SHELLS))
    for at in start_points(lineup, Starts()):
        found = from_start(lineup, at)
        assert found.met
        assert found.level == pytest.approx((high - cover.max()) / 0.01, abs=1e-6)
        assert found.dimensions["a"] == pytest.approx([2 * R * np.sqrt(1 - rest)], abs=1e-6)


def test_what_no_densities_reach_a_mould_does():
    """The drawing as it starts can't; what is picked does, as stated and measured."""
    start = _dims(ELDER, belly=3.30, tall=6.20, lift=0.30)
    assert solve_lineup(read(start)).status == "infeasible"
    result = _elder()
    assert result.status == "feasible"
    assert result.search.complete
    for value in _picked(result).values():
        assert value == round(value, 3)
    for weight in result.weights:
        assert all(abs(off.tolerances) < 0.05 for off in weight.deviations)
        assert all(m.slack >= 0 for m in weight.margins if not m.rule_only)
    written = _dims(ELDER, **_picked(result))
    again = solve_lineup(read(written))
    assert again.smallest.tolerances == pytest.approx(result.smallest.tolerances, abs=1e-6)


def test_its_walls_hold_by_another_measure():
    """The spindle's walls: the mantle's by points of both surfaces, least refined (oracle)."""
    result = _elder()
    dims = {name: value * INCH for name, value in _picked(result).items()}

    def spindle(t):
        angle = np.pi * t
        return np.stack(
            [dims["belly"] / 2 * np.sin(angle), -dims["tall"] / 2 * np.cos(angle)], axis=-1
        )

    def ball(t):
        return 7.480 / 2 * INCH * np.stack([np.sin(np.pi * t), -np.cos(np.pi * t)], axis=-1)

    def ring(t):
        angle = 2 * np.pi * t
        return INCH * np.stack([2.40 + 0.40 * np.cos(angle), 0.40 * np.sin(angle)], axis=-1)

    block = placed(turned(spindle), np.eye(3), (0.0, 0.0, dims["lift"]))
    for other, least in ((turned(ball), 0.20), (turned(ring), 0.10)):
        assert least_distance([block], [other]) >= (least - 1e-4) * INCH


def test_the_same_every_time_and_with_more_jobs(monkeypatch):
    """By itself a search begins a process where work remains and cores are idle."""
    few = Starts(count=3)
    first, again = _best(ELDER, few), _best(ELDER, few)
    side_by_side = _best(ELDER, replace(few, pool=pool(2)))
    begun, processes = [], pools._processes
    monkeypatch.setattr(pools, "idle", lambda: 2)
    monkeypatch.setattr(pools, "WORTH", 1e-3)
    monkeypatch.setattr(pools, "_processes", lambda count: begun.append(count) or processes(count))
    by_itself = _best(ELDER, replace(few, pool=pool(None)))
    assert begun == [1]
    for other in (again, side_by_side, by_itself):
        assert other.search == first.search
        assert other.scenario.chosen == first.scenario.chosen
        for one, two in zip(first.weights, other.weights, strict=True):
            assert one.ball.densities.tolist() == two.ball.densities.tolist()


def test_gradients_in_densities_and_dimensions_agree_with_differences():
    """Every row's slack against central differences, at three moulds, in every column.

    Of a wall's places the least, which comes first; an equation is asked of the figures at x.
    """
    (lineup,) = groups(read(ELDER))
    of, random = lineup.columns, np.random.default_rng(5)

    def slacks(x):
        found = {}
        for row in lineup.margin_rows(x):
            if row.price is None:
                found.setdefault(row.name, (row.coefficients @ x - row.lower, row.coefficients))
        return found

    for _ in range(3):
        x = of.middle + 0.3 * random.uniform(-0.5, 0.5, of.count) * of.spread
        here = slacks(x)
        assert len(here) > 40
        for j in np.flatnonzero(of.lower < of.upper):
            step = 1e-4 * np.eye(of.count)[j]
            up, down = slacks(x + step), slacks(x - step)
            for label, (_, gradient) in here.items():
                difference = (up[label][0] - down[label][0]) / 2e-4
                assert gradient[j] == pytest.approx(difference, rel=1e-6, abs=1e-6), label


def test_a_mould_for_each_weight_has_more_room_as_is_known():
    """Concentric spheres again, each weight its own mantle: the heavy cover is at mid-range.

    The light one is heaviest with the smallest mantle of the range, and still below mid-range.
    """
    text = SHELLS.replace("max = 200.0 }", 'max = 200.0, same = "none" }')
    heavy, light = (
        from_start(lineup, next(start_points(lineup, Starts()))) for lineup in groups(read(text))
    )
    R, low, high = 10.85, 0.90, 1.27
    mu = 6000.0 / (4 / 3 * np.pi * R**3)
    kappa = 6.6**2 / (0.4 * R**2)
    assert heavy.level == pytest.approx((high - low) / 2 / 0.01, abs=1e-6)
    cover = mu * (1 - (1 - kappa) / (1 - (10.0 / (2 * R)) ** 2))
    assert light.dimensions["b"] == pytest.approx([10.0], abs=1e-6)
    assert light.level == pytest.approx((cover - low) / 0.01, abs=1e-6)


def test_groups_of_weights_have_one_mould_each():
    """Two groups: what is alike in a group is one number, and the room is no less than with one."""
    levels = []
    for same in ('"all"', '[["16", "15"], ["14", "13"]]'):
        belly = f"{{ min = 3.0, max = 3.8, same = {same} }}"
        result = _best(_dims(ELDER, belly=belly, tall=6.5, lift=0.2), Starts(count=1))
        assert result.status == "feasible"
        levels.append(result.smallest.tolerances)
        picked = result.scenario.chosen["belly"]
        assert picked["16"] == picked["15"]
        assert picked["14"] == picked["13"]
    assert levels[0] <= levels[1] + 0.02


OPEN = (("belly", 3.0, 3.8), ("tall", 5.8, 6.6), ("lift", 0.15, 0.45))

RACK = {
    "belly": "{ one_of = [3.3, 3.5, 3.7] }",
    "tall": '{ one_of = [6.2, 6.6], same = [["16", "15"], ["14", "13"]] }',
    "lift": "0.2",
}


def _of_every_choice(text):
    """The best rank of all choices of RACK, each written into the text and solved."""
    best = (False, -np.inf)
    for belly, upper, lower in itertools.product((3.3, 3.5, 3.7), (6.2, 6.6), (6.2, 6.6)):
        tall = f"{{ each = {{ 16 = {upper}, 15 = {upper}, 14 = {lower}, 13 = {lower} }} }}"
        with suppress(InputError):
            one = read(_dims(text, belly=belly, tall=tall, lift=0.2))
            best = max(best, min(poured(lineup).rank for lineup in groups(one)))
    return best


def _tried(monkeypatch):
    """The choices that a search tries, as they come."""
    tried, one = [], MouldSearch._try
    monkeypatch.setattr(MouldSearch, "_try", lambda *given: tried.append(given[1]) or one(*given))
    return tried


@pytest.mark.parametrize("differential", [0.040, 0.045, 0.056, 0.090])
@pytest.mark.parametrize("shared", ["none", "all"])
def test_the_best_of_the_rack_is_the_best_of_all_choices(shared, differential, monkeypatch):
    """Against trying every choice. At 0.056 all are outside a limit, at 0.090 off the target."""
    text = ELDER.replace("= 0.048", f"= {differential}")
    text = text.replace('material = "shell"', f'material = "shell"\nsame_density = "{shared}"')
    best, tried = _of_every_choice(text), _tried(monkeypatch)
    search = MouldSearch(read(_dims(text, **RACK)), Starts(), exact=True)
    picked = search.picked()
    assert search.rank == pytest.approx(best, abs=1e-6)
    assert min(poured(lineup).rank for lineup in groups(picked.scenario)) == search.rank
    assert len(tried) < 12


@pytest.mark.parametrize("axis", ["aligned", "tilted"])
def test_only_a_proof_cuts_a_choice_off(axis, monkeypatch):
    """What a weight was found to reach alone may fall short; here it is said to reach nothing.

    Of tilted cores less can be proven, and more is tried.
    """
    text = ELDER.replace("= 0.048", "= 0.045")
    if axis == "tilted":
        text = text.replace("height = 5.00 }", "height = 4.60 }\nrotate = [4, 0, 0]")
    add = Alone.add
    monkeypatch.setattr(
        Alone, "add", lambda self, values, lineup, _: add(self, values, lineup, (0, -9.0))
    )
    tried = _tried(monkeypatch)
    search = MouldSearch(read(_dims(text, **RACK)), Starts())
    search.picked()
    assert search.rank == pytest.approx(_of_every_choice(text), abs=1e-6)
    assert len(tried) < 12 or axis == "tilted"


def test_a_mould_in_which_one_weight_can_not_be_made_is_still_one_for_the_others():
    """The heaviest weight has a ring round its keel, which a belly of 3.3 in can't hold.

    The others are best with that belly: the walls, which would prefer it everywhere, have no limit.
    """
    ring = """
[[parts]]
name     = "rim"
inside   = "spindle"
only_in  = ["16"]
shape    = { kind = "ring", diameter = 2.9, thickness = 0.5 }
at       = [0, 0, 0.2]
material = "filled"

[limits]"""
    text = ELDER.replace("= 0.048", "= 0.036").replace("\n[limits]", ring)
    text = "\n".join(line for line in text.split("\n") if not line.startswith("wall "))
    belly = '{ one_of = [3.3, 3.6], same = [["16"], ["15", "14", "13"]] }'
    text = _dims(text, belly=belly, tall=6.2, lift=0.2)
    best = (False, -np.inf)
    for heavy, light in itertools.product((3.3, 3.6), repeat=2):
        belly = f"{{ each = {{ 16 = {heavy}, 15 = {light}, 14 = {light}, 13 = {light} }} }}"
        with suppress(InputError):
            one = read(_dims(text, belly=belly, tall=6.2, lift=0.2))
            best = max(best, min(poured(lineup).rank for lineup in groups(one)))
    search = MouldSearch(read(text), Starts(), exact=True)
    picked = search.picked()
    assert search.rank == pytest.approx(best, abs=1e-6)
    assert picked.scenario.chosen["belly"] == {"16": 3.6, "15": 3.3, "14": 3.3, "13": 3.3}


def _stepped(monkeypatch, happens):
    """Call `happens` with a search's series after each of its steps, instead of showing it."""
    step = Series.step

    def stepped(series, best=None):
        step(series, best)
        happens(series)

    monkeypatch.setattr(Series, "step", stepped)


def _interrupted(monkeypatch, after=2):
    """Interrupt the search after so many starts, and return what was said of each."""
    heard = []

    def told(series):
        heard.append(str(series))
        if len(heard) == after:
            raise KeyboardInterrupt

    _stepped(monkeypatch, told)
    return heard


def test_an_interrupted_search_gives_the_best_so_far(monkeypatch):
    _interrupted(monkeypatch)
    with pytest.raises(SearchInterruptedError) as stopped:
        solve_lineup(read(ELDER))
    result = stopped.value.best()
    assert not result.search.complete
    assert result.search.moulds == 2
    assert result.status == "feasible"
    two = _best(ELDER, Starts(count=2))
    assert result.scenario.chosen == two.scenario.chosen


def test_an_interrupted_search_walks_no_weights_after_it(monkeypatch):
    """Here each weight has a mould of its own, and is searched alone, one after the other."""
    heard = _interrupted(monkeypatch)
    alone = {name: f'{{ min = {low}, max = {high}, same = "none" }}' for name, low, high in OPEN}
    with pytest.raises(KeyboardInterrupt) as stopped:
        solve_lineup(read(_dims(ELDER, **alone)))
    assert [one.partition(",")[0] for one in heard] == ["moulds for 16", "moulds for 16"]
    assert not isinstance(stopped.value, SearchInterruptedError)  # of 15 nothing is known


def test_a_signal_that_was_lost_is_found_at_the_next_program(monkeypatch):
    """As where C code that has called Python back swallows the exception."""
    asked = []

    def told(series):
        if not asked:
            with suppress(KeyboardInterrupt):
                stopping.ask()
        asked.append(series.done)

    _stepped(monkeypatch, told)
    with pytest.raises(SearchInterruptedError) as stopped:
        solve_lineup(read(ELDER))
    assert len(asked) == 1
    assert stopped.value.best().search.moulds == 1


def _timed(monkeypatch, after: int) -> None:
    """Let ten seconds pass on the clock when so many starts are done."""
    clock = [0.0]

    def told(series):
        if series.done == after:
            clock[0] = 10.0

    monkeypatch.setattr(stopping, "time", SimpleNamespace(monotonic=lambda: clock[0]))
    _stepped(monkeypatch, told)


def test_when_time_is_up_the_best_so_far_is_the_answer(monkeypatch):
    two = _best(ELDER, Starts(count=2))
    _timed(monkeypatch, after=2)
    result = solve_lineup(read(ELDER), Starts(seconds=9.0))
    assert (result.status, result.search.complete, result.search.moulds) == ("feasible", False, 2)
    assert result.scenario.chosen == two.scenario.chosen


def test_time_enough_changes_nothing(monkeypatch):
    two = _best(ELDER, Starts(count=2))
    _timed(monkeypatch, after=1)
    result = solve_lineup(read(ELDER), Starts(count=2, seconds=11.0))
    assert result.search == two.search
    assert result.scenario.chosen == two.scenario.chosen


def test_without_a_mould_in_the_time_allowed_nothing_is_decided():
    with pytest.raises(UndecidedError, match="in the time allowed"):
        solve_lineup(read(ELDER), Starts(seconds=1e-9))


def test_interrupted_before_anything_is_found_it_says_nothing(monkeypatch):
    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("optimizer.lineup.moulds.search.from_start", stopped)
    with pytest.raises(KeyboardInterrupt):
        _best(ELDER)


def test_a_range_in_which_no_part_fits_is_told_with_its_line():
    """A spindle taller than the ball at every value of its range."""
    text = _dims(ELDER, belly=3.3, lift=0.3, tall="{ min = 8.7, max = 9.2 }")
    with pytest.raises(InputError) as told:
        _best(text, Starts(count=2))
    (problem,) = told.value.problems
    line = text[: text.index("tall = {")].count("\n") + 1
    assert (problem.file, problem.line) == ("line.toml", line)


def test_a_start_that_crosses_its_host_is_walked_back():
    text = _dims(
        ELDER,
        belly="{ min = 3.0, max = 3.8 }",
        tall="{ min = 6.0, max = 8.4, start = 8.3 }",
        lift="0.2",
    )
    result = _best(text, Starts(count=1))
    assert result.status == "feasible"
    assert _picked(result)["tall"] < 7.0


def test_where_nothing_is_found_it_is_undecided_and_the_nearest_mould_is_told():
    result = _best(ELDER.replace("= 0.048", "= 0.090"), Starts(count=2))
    assert result.status == "undecided"
    assert result.infeasible is not None
    assert set(_picked(result)) == {"belly", "tall", "lift"}


def test_a_mould_that_can_not_be_is_no_mould():
    text = _dims(
        ELDER,
        belly=3.3,
        tall=6.2,
        lift=0.3,
        round="{ min = 1.8, max = 3.0 }",
        high="{ min = 2.0, max = 5.0 }",
    )
    text = text.replace("diameter = 2.20, height = 5.00", 'diameter = "round", height = "high"')
    (lineup,) = groups(read(text))
    x = lineup.columns.middle.copy()
    x[lineup.columns.moulds : lineup.columns.figures] = np.array([2.8, 2.2]) * INCH
    with pytest.raises(UnbuildableError):
        list(lineup.balls(x))
    assert from_start(lineup, np.array([2.8, 2.2]) * INCH) is None


def test_a_dimension_that_no_part_uses_is_not_picked():
    text = _dims(
        ELDER, belly="{ min = 3.0, max = 3.8 }", tall=6.55, lift=0.19, idle="{ min = 1, max = 2 }"
    )
    asked = read(text.replace("min = 1, max = 2", "min = 1.0, max = 2.0"))
    assert [one.name for one in asked.free] == ["belly"]
    assert any('dimension "idle" is not used' in warning for warning in asked.warnings)
