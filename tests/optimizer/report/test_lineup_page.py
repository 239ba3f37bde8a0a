from __future__ import annotations

import re
from dataclasses import replace

from optimizer.report.solution.page import lineup_blocks
from optimizer.report.writers.console import plain


def screen(result) -> str:
    return plain(lineup_blocks(result))


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
        "pin distance, mm",
    ):
        assert words in text
    assert not re.search(r"\d (in|lb)\b", text)


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
        "The nearest ball of each weight, for itself\n",
    ):
        assert words in text


def test_a_wall_that_no_density_mends_is_told_as_such(lineup, tilted) -> None:
    result = lineup(tilted.replace("min = 0.2, tol", "min = 1.5, tol"), status="infeasible")
    walls = tuple(m for w in result.weights for m in w.margins if m.limit == "wall min")
    why = replace(result.infeasible, broken=walls, stops=())
    text = screen(replace(result, infeasible=why))
    assert re.search(
        r"Broken, whatever the densities\n- every weight: wall between block and cover \S+ in, "
        r"\S+ under its minimum \(1\.500\): outside by",
        text,
    )
    assert "What stops" not in text


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
    assert "outside a rule on what the scenario gives (see the warnings)" in told.splitlines()[0]
    assert "Warning: 15 lb: USBC differential" in told
    assert re.search(
        r"Warning: 12 lb: USBC differential .* \(0\.060: worded for 13 lb or more, may not", told
    )
