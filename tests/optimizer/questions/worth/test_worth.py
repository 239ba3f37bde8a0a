"""What a dimension is worth: against closed forms, and against full solves of another text."""

from __future__ import annotations

import numpy as np
import pytest
from answers import solved
from optimizer_texts import SHELLS
from scipy.optimize import brentq

from optimizer.cli.new import text
from optimizer.lineup.moulds.starts import groups, poured
from optimizer.questions.worth.page import worth_blocks, worth_data
from optimizer.questions.worth.worth import worths
from optimizer.scenario import scenario
from shared.errors import InputError

RADIUS = 10.85
STEP = 0.025
"""cm: a step of 0.25 mm."""


def level(bed: float, low: float = 0.90, high: float = 1.27) -> float:
    """The smallest margin at a bed of so many cm, in closed form, in tolerances.

    Two concentric balls of density b (inner, s = r/R) and a make m = V(a + (b − a)s³) and
    m·RG² = 0.4 R² V (a + (b − a)s⁵). With μ = m/V and κ = RG²/(0.4 R²) it follows that
    b − a = μ(1 − κ)/(s³(1 − s²)) and a = μ − μ(1 − κ)/(1 − s²).
    """
    kappa, s = 6.6**2 / (0.4 * RADIUS**2), bed / 2 / RADIUS
    margins = []
    for mass in (7000.0, 6000.0):
        mu = mass / (4 / 3 * np.pi * RADIUS**3)
        a = mu - mu * (1 - kappa) / (1 - s**2)
        b = a + mu * (1 - kappa) / (s**3 * (1 - s**2))
        margins += [(a - low) / 0.01, (high - a) / 0.01, (b - 0.1) / 0.001, (3.0 - b) / 0.001]
    return min(margins)


def best(low: float = 0.90, high: float = 1.27) -> float:
    """The bed at which one cover is as far from its least as the other from its most.

    Both covers grow lighter as the bed grows, so that is where the smallest margin is largest.
    """

    def gap(bed: float) -> float:
        return level(bed, low, 9.0) - level(bed, -9.0, high)

    return brentq(gap, 10.5, 13.0, xtol=1e-13)


@pytest.fixture(scope="module")
def shells():
    return worths(solved(SHELLS, starts=2))


def _kind(worth) -> str:
    return "dimension" if worth.bound is None else worth.bound.words


def _of(all_worths, kind: str, name: str):
    (match,) = [worth for worth in all_worths.each if (_kind(worth), worth.name) == (kind, name)]
    return match


def test_a_dimension_held_off_its_best_costs_what_the_closed_form_says(shells):
    """At its best two margins cross: down and up differ, and each is its own."""
    worth, bed = _of(shells, "dimension", "bed"), best()
    assert shells.level == pytest.approx(level(bed), abs=1e-4)
    assert worth.value == pytest.approx(bed, abs=1e-3)
    for side, way in ((worth.down, -1), (worth.up, 1)):
        assert side.gain == pytest.approx(level(bed + way * STEP) - level(bed), abs=2e-4)
        slight = (level(bed + way * 1e-5) - level(bed)) * STEP / 1e-5
        assert side.slope == pytest.approx(slight, rel=2e-3)
        far = level(bed + way * side.reach * STEP) - level(bed)
        assert side.slope * side.reach == pytest.approx(far, abs=0.01)
        assert side.reach == 5
    assert worth.down.slope < 1.1 * worth.up.slope < 0  # a kink, not a hill
    assert worth.free
    assert worth.end is None


@pytest.mark.parametrize(("kind", "low", "high"), [("density min", 1, 0), ("density max", 0, 1)])
def test_a_bound_is_worth_what_the_closed_form_says_with_the_bed_sought_anew(
    shells, kind, low, high
):
    worth, before = _of(shells, kind, "shell"), level(best())
    for side, way in ((worth.down, -0.01), (worth.up, 0.01)):
        ends = (0.90 + way * low, 1.27 + way * high)
        assert side.gain == pytest.approx(level(best(*ends), *ends) - before, abs=5e-4)
        assert side.slope == pytest.approx(side.gain, abs=2e-3)
    assert worth.down.gain * worth.up.gain < 0


@pytest.mark.parametrize(
    ("limit", "name"),
    [
        ("min = 45.0", ""),
        (
            'min = 1.0, except = [{ between = ["mantle", "cover"], min = 45.0 }]',
            "mantle-cover",
        ),
    ],
)
def test_the_least_wall_is_worth_what_the_closed_form_says(limit, name):
    """Where a thinner wall would be better: the bed is where its margin meets the cover's."""
    source = f"{SHELLS}[limits]\nwall = {{ tolerance = 0.5, {limit} }}\n"
    all_worths = worths(solved(source, starts=2))
    worth = _of(all_worths, "wall min", name)

    def held(least: float) -> float:
        def wall(bed: float) -> float:
            return (RADIUS - bed / 2 - least) / 0.05

        return level(brentq(lambda bed: level(bed) - wall(bed), 11.0, best(), xtol=1e-13))

    for side, way in ((worth.down, -1), (worth.up, 1)):
        assert side.gain == pytest.approx(held(4.5 + way * STEP) - held(4.5), abs=3e-4)
        assert side.slope == pytest.approx(side.gain, rel=0.02, abs=1e-3)
    assert worth.up.gain < 0 < worth.down.gain


def test_bounds_that_do_not_bind_are_not_told(shells):
    assert {(_kind(worth), worth.name) for worth in shells.each} == {
        ("dimension", "bed"),
        ("density min", "shell"),
        ("density max", "shell"),
    }


def test_a_dimension_at_the_end_of_its_range_gains_beyond_it():
    """A range that ends 0.66 mm short of the best."""
    source = SHELLS.replace("max = 200.0", "max = 118.0")
    result = solved(source, starts=2)
    all_worths = worths(result)
    worth = _of(all_worths, "dimension", "bed")
    assert worth.end == "most"
    assert worth.up.gain == pytest.approx(level(11.825) - level(11.8), abs=2e-4)
    assert worth.down.gain == pytest.approx(level(11.775) - level(11.8), abs=2e-4)
    assert worth.up.reach == 1  # five steps on, the best is behind
    note = worth_blocks(all_worths, result)[-1].lines[0]
    assert note.startswith("bed: 118.00 mm, at the most of its range; each 0.25 mm more would give")
    assert note.endswith("(checked to 118.25).")


def test_where_no_mould_can_be_none_is_found():
    """A bed of the ball's own size but a hair: a step more is no mould."""
    source = (
        SHELLS.replace("bed = { min = 100.0, max = 200.0 }", "bed = 216.9")
        .replace("rg = 66.0", "rg = { min = 60.0, max = 90.0 }")
        .replace("[0.90, 1.27]", "[0.10, 9.0]")
    )
    all_worths = worths(solved(source))
    worth = _of(all_worths, "dimension", "bed")
    assert worth.up.gain is None
    assert worth.up.reach == 0
    assert not worth.free


LINE = text("rowan")
NAMED = LINE.replace("diameter = 7.480", 'diameter = "bed"').replace(
    "[materials.shell]", "[dimensions]\nbed = 7.480\n\n[materials.shell]"
)


def _level(source: str) -> float:
    """The smallest margin of a text solved from the start, before anything is stated."""
    read = scenario(source, file="x", target_required=True)
    return min(poured(lineup).level for lineup in groups(read))


def test_a_fixed_dimension_and_bounds_are_worth_what_full_solves_of_another_text_say():
    """The scenario that `new` writes, with the bed named, and a number of its text changed."""
    assert "bed = 7.480" in NAMED
    all_worths = worths(solved(NAMED))
    assert "dimension" in {_kind(worth) for worth in all_worths.each}
    assert len(all_worths.each) > 1
    for worth in all_worths.each:
        for side, way in ((worth.down, -1), (worth.up, 1)):
            changed = _changed(worth, way)
            level = _level(changed)
            assert side.gain == pytest.approx(level - _level(NAMED), abs=2e-3), (worth.name, way)


def _changed(worth, way: int) -> str:
    """The text with this number a step off."""
    if worth.bound is None:
        return NAMED.replace("bed = 7.480", f"bed = {7.480 + 0.01 * way}")
    read = scenario(NAMED, file="x", target_required=True)
    ends = list(read.text.materials[worth.name].density)
    k = ("min", "max").index(worth.bound.side)
    head, _, tail = NAMED.partition(f"[materials.{worth.name}]")
    before, _, rest = tail.partition("density")
    ends[k] += 0.01 * way
    return f"{head}[materials.{worth.name}]{before}density = {ends}{rest[rest.index(chr(10)) :]}"


def test_nothing_is_told_of_a_line_up_that_was_not_found():
    source = SHELLS.replace("rg = 66.0", "rg = 30.0")
    with pytest.raises(InputError, match="nothing to compare with: the line-up is"):
        worths(solved(source, starts=1))


def test_the_data_say_units_and_how_far_it_was_checked(shells):
    data = worth_data(shells)
    bed = next(number for number in data["numbers"] if number["name"] == "bed")
    assert bed["unit"] == "in"
    assert bed["step"] == pytest.approx(0.25 / 25.4)
    assert bed["value"] == pytest.approx(best() / 2.54, abs=1e-3)
    assert bed["up"]["even_to"] == pytest.approx(bed["value"] + 5 * bed["step"])
