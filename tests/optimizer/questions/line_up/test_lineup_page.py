from __future__ import annotations

import re
from dataclasses import replace

import pytest

from optimizer.paper.writers.console import plain
from optimizer.questions.line_up.page import lineup_blocks
from optimizer.questions.why_not.data import diagnosis_data
from optimizer.questions.why_not.diagnosis import Diagnosis
from optimizer.questions.why_not.page import diagnosis_blocks


def screen(result, said=()) -> str:
    return plain(lineup_blocks(result, said))


def test_a_feasible_line_up_says_so_first_and_what_it_is_worth_last(lineup) -> None:
    lines = screen(lineup()).splitlines()
    assert lines[0].startswith("Alder, revision B: FEASIBLE. 2 weights on target")
    assert "scatter more" in lines[-1]


def test_densities_have_the_digits_that_are_poured(lineup, tilted, metric) -> None:
    assert re.search(r"block \(filled\) +1\.4000 +0\.9000$", screen(lineup(tilted)), re.MULTILINE)
    assert re.search(r"block \(filled\) +1400\.0 +900\.0$", screen(lineup(metric)), re.MULTILINE)


def test_the_scenarios_units_are_honoured(lineup, metric) -> None:
    text = screen(lineup(metric))
    for words in (
        "Density, kg/m³",
        "weight, kg",
        "low RG, mm",
        "top weight, oz",
        "CG offset, mm",
        "pin distance, mm",
    ):
        assert words in text
    assert "15 lb" in text, "the carton's label is a weight in pounds whatever the file's unit"
    assert not re.search(r"\d (in|lb)\b", re.sub(r"\b1[25] lb\b", "", text))


def test_the_table_is_narrow_enough_for_a_screen(lineup) -> None:
    lines = screen(lineup()).splitlines()
    assert len(lines) <= 40
    table = lines[lines.index("Density, g/cm³") : lines.index("Smallest margins")]
    assert max(len(line) for line in table) <= 80


def test_a_low_axis_that_left_the_pin_is_told(lineup) -> None:
    """The block is tilted by 20 degrees: its own axis can't stay with the pin."""
    assert re.search(
        r"^- Every weight: the low-RG axis is not the pin axis but up to \d",
        screen(lineup()),
        re.MULTILINE,
    )


def test_an_infeasible_line_up_says_so_and_counts(lineup) -> None:
    """Two free densities in a weight can't in general meet three targets."""
    text = screen(lineup(status="infeasible"))
    assert text.splitlines()[0] == (
        "Alder, revision B: INFEASIBLE. No densities meet every target and limit."
    )
    for words in (
        "Proven by a test.",
        "What stops the nearest line-up\n- 15 lb: cover 1.2000 g/cm³",
        "Count: 3 targets (weight, RG and differential) and 2 free densities in every weight",
        ": in general too few; a necessary count, not a proof.",
        "RG rises as the weight falls",
        "The nearest ball of each weight, on its own\n",
    ):
        assert words in text


def test_a_wall_that_no_density_mends_is_told_as_such(lineup, tilted) -> None:
    text = walled(tilted).replace("min = 0.2, tol", "min = 1.5, tol")
    result = lineup(text, status="infeasible")
    walls = tuple(m for w in result.weights for m in w.margins if m.words == "wall min")
    why = replace(result.infeasible, broken=walls, stops=())
    text = screen(replace(result, infeasible=why))
    assert re.search(
        r"Broken, whatever the densities\n- every weight: wall between block and cover \S+ in, "
        r"\S+ under its minimum \(1\.500\): outside by",
        text,
    )
    assert "What stops" not in text
    assert "class weights and all limits but those above are kept" in text


def walled(text: str) -> str:
    """The text with walls and ranges for its only limits, which these balls keep."""
    return re.sub(r"(?m)^(rulebook|top_weight) = .*\n", "", text)


def test_what_the_nearest_balls_keep_is_what_they_were_measured_to_keep(lineup, tilted) -> None:
    """12 lb with a cover at 1.35, of 1.30 at the most; class weights that nothing makes."""
    near = lineup(walled(tilted), status="undecided")
    assert "Here class weights and limits are kept" in screen(near)
    result = lineup(walled(tilted), {"15": (1.2, 1.4), "12": (1.35, 0.9)}, "undecided")
    assert "Here class weights are kept, but not every limit, and" in screen(result)
    loose = replace(near, infeasible=replace(near.infeasible, loose=("15",)))
    assert "Here class weights, but for those below, and limits are kept" in screen(loose)


@pytest.mark.parametrize(
    ("unshared", "said"),
    [
        (None, None),  # not sought, as where the search was interrupted
        (False, "No RG and differential were found that all weights can share."),
        (True, "No RG and differential can be met exactly by all weights (proven)."),
    ],
)
def test_none_was_found_and_there_is_none_are_two_sentences(lineup, unshared, said) -> None:
    result = lineup(status="undecided")
    why = replace(result.infeasible, unshared=unshared)
    text = screen(replace(result, infeasible=why))
    assert ("No RG and differential" in text) == (said is not None)
    assert said is None or said in text


@pytest.mark.parametrize(
    ("alone", "said"),
    [
        ({"15": True, "12": True}, "Each weight can be made on its own."),
        ({"15": False, "12": False}, "No weight can be made, even on its own."),
        (
            {"15": None, "12": None},
            "No ball was found for any weight, even on its own; none is proven impossible.",
        ),
        ({"15": True, "12": False}, "On their own, 15 lb can be made; 12 lb can't."),
        (
            {"15": True, "12": None},
            (
                "On their own, 15 lb can be made, for 12 lb no line-up was found, nor proven "
                "impossible."
            ),
        ),
    ],
)
def test_what_can_not_be_made_and_what_was_not_found_are_two_things(lineup, alone, said) -> None:
    """True, false and null in the data: made, proven impossible, not decided."""
    result, diagnosis = lineup(status="undecided"), Diagnosis((), (), (), None, alone, ())
    assert said in screen(result, diagnosis_blocks(diagnosis, result))
    assert diagnosis_data(diagnosis, result)["alone"] == alone


def test_a_feasible_line_is_not_inside_a_limit_that_it_is_outside_of(lineup) -> None:
    """Top weight may be broken by what stating the densities moves; one 1e-12 over is at it."""
    result = lineup()
    top = next(m for m in result.weights[0].margins if m.words == "top weight max")
    for over, kept in ((1e-12, "inside every limit"), (0.5, "every limit kept but for rounding")):
        moved = replace(top, value=top.edge + over, slack=-over)
        weights = (replace(result.weights[0], margins=(moved,)),)
        assert kept in screen(replace(result, weights=weights)).splitlines()[0]


def test_an_infeasible_line_tells_what_is_asked_outside_the_rulebook(lineup, tilted) -> None:
    text = screen(lineup(tilted.replace("rg = 2.55", "rg = 2.82"), status="infeasible"))
    assert "- Warning: 15 lb: USBC rg 2.820 in, 0.020 over its maximum (2.800)" in text


def test_an_interrupted_search_says_so(lineup) -> None:
    result = lineup(status="undecided")
    text = screen(replace(result, search=replace(result.search, complete=False)))
    assert text.splitlines()[0].endswith("The search was interrupted.")


def test_a_line_whose_rg_falls_with_the_weight_is_not_said_to_rise(lineup, tilted) -> None:
    swapped = {"15": (1.15, 0.9), "12": (1.2, 1.4)}
    assert "RG rises" not in screen(lineup(tilted, swapped, "infeasible"))


def test_sharing_is_counted_over_the_line(lineup, tilted) -> None:
    """One cover for both weights, three densities each: 6 equations, 1 + 2 + 2 densities."""
    core = '[[parts]]\nname = "core"\ninside = "block"\nmaterial = "filled"\n'
    core += 'shape = { kind = "sphere", diameter = 2 }\n[limits]'
    text = tilted.replace("[limits]", core).replace(
        'material = "shell"\n', 'material = "shell"\nsame_density = "all"\n'
    )
    densities = {"15": (1.2, 1.4, 1.4), "12": (1.2, 0.9, 0.9)}
    assert (
        "Count: 3 targets (weight, RG and differential) in 2 weights are 6 equations; "
        "the line has 5 free densities: in general too few"
    ) in screen(lineup(text, densities, "infeasible"))


def test_undecided_is_neither(lineup) -> None:
    text = screen(lineup(status="undecided"))
    assert text.startswith(
        "Alder, revision B: UNDECIDED. No line-up was found from 3 starts, and none was proven "
        "impossible."
    )


def test_a_rule_for_heavier_balls_is_told_as_one_that_may_not_apply(lineup, tilted) -> None:
    """A slender heavy block makes a differential over 0.060 in in both weights."""
    text = tilted.replace(
        '"ellipsoid", diameters = [4.4, 5.0, 6.0]', '"ellipsoid", diameters = [3, 3.4, 7]'
    )
    densities = {"15": (1.1, 2.9), "12": (1.1, 2.9)}
    told = screen(lineup(text, densities))
    assert "what the scenario asks for breaks a rule (see the warnings)" in told.splitlines()[0]
    assert "Warning: 15 lb: USBC differential" in told
    assert re.search(
        r"Warning: 12 lb: USBC differential .* \(0\.060: worded for 13 lb or more, may not", told
    )
