"""The screen and the data of a frontier."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace

import pytest

from optimizer.lineup.proof.evidence import Evidence
from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Table
from optimizer.paper.writers.console import plain
from optimizer.questions.sharing.data import sharing_data
from optimizer.questions.sharing.fewest import Fewest
from optimizer.questions.sharing.page import shared_pours, sharing_blocks
from optimizer.questions.sharing.pours import Point
from optimizer.questions.sharing.sharing import Frontier

Build = Callable[..., LineupResult]
NAMES = {"15": "15 lb", "12": "12 lb"}


def frontier(lineup: Build) -> Frontier:
    """Cover 0.1 from its most in 15 lb: 10 tolerances of 0.01; at 1.15 in both, 5 from its least.

    The blocks stay 0.3 and more from their ends. Four pours, and three with one cover.
    """
    own = Point({}, lineup(densities={"15": (1.2, 1.4), "12": (1.19, 0.9)}))
    result = lineup(densities={"15": (1.15, 1.4), "12": (1.15, 0.9)})
    shared = Point({"cover": (("15", "12"),)}, result)
    return Frontier(own, (own, shared), {"cover": shared, "block": None})


def test_pours_are_counted_and_their_cost_is_told(lineup: Build) -> None:
    """Top weights of these balls lie further inside: the cover has the smallest margin."""
    result = frontier(lineup)
    before, after = (f"{point.level:.1f}" for point in result.points)
    assert [point.pours for point in result.points] == [4, 3]
    (table,) = (block for block in sharing_blocks(result) if isinstance(block, Table))
    assert [column.header for column in table.columns] == [
        "pours", "smallest margin", "cover", "block"
    ]  # fmt: skip
    assert table.rows == (("4", before, "2", "2"), ("3", after, "1", "2"))
    text = plain(sharing_blocks(result))
    assert "4 pours as it stands; the fewest found is 3." in text
    assert f"- 4 pours, {before} tolerances: nothing\n" in text
    assert f"- 3 pours, {before} → {after} tolerances: cover in every weight\n" in text
    assert f"- one cover density for all 2 weights: {before} → {after} tolerances, 3 pours" in text
    assert "- one block density for all 2 weights: none found\n" in text


@pytest.mark.parametrize(
    ("found", "at_least", "summary", "note"),
    [
        (3, 3, "4 pours as it stands; the fewest is 3, proven.", "at least 3 pours"),
        (3, 2, "the fewest found is 3; at least 2 are needed, proven.", "FILE.json looks further."),
    ],
)
def test_what_is_proven_is_told_as_such(
    lineup: Build, found: int, at_least: int, summary: str, note: str
) -> None:
    """And what isn't closed isn't called the fewest."""
    fewest = Fewest(found, at_least, Evidence("", {}, {}, {}), open_ended=found > at_least)
    result = replace(frontier(lineup), fewest=fewest)
    text = plain(sharing_blocks(result))
    assert summary in text
    assert note in text
    assert "proves nothing" not in text
    told = {"found": found, "at_least": at_least, "proven": True, "across_parts": None}
    assert sharing_data(result)["fewest"] == told


def test_different_parts_poured_alike_stand_beside_the_frontier(lineup: Build, tilted: str) -> None:
    """`same_density` can't ask for them, so that no scenario is offered for them."""
    across = Point(
        {}, lineup(tilted.replace('"filled"', '"shell"'), {"15": (1.2, 1.2), "12": (1.2, 1.1)})
    )
    fewest = Fewest(across.pours, across.pours, Evidence("", {}, {}, {}), across, across=True)
    result = replace(frontier(lineup), fewest=fewest)
    text = plain(sharing_blocks(result))
    assert "4 pours as it stands; the fewest is 2, proven." in text
    assert "different parts poured alike" in text
    assert "cover in every weight with block in 15 lb" in text
    data = sharing_data(result)
    assert data["fewest"]["across_parts"]["pours"] == 2
    assert [point["pours"] for point in data["frontier"]] == [4, 3]


def test_two_parts_of_one_material_at_one_density_are_one_pour(lineup: Build, tilted: str) -> None:
    """Cover and block of the same material, alike by chance in different weights."""
    text = tilted.replace('"filled"', '"shell"')
    point = Point({}, lineup(text, {"15": (1.2, 1.25), "12": (1.25, 1.1)}))
    assert point.pours == 3
    assert list(shared_pours(point, NAMES)) == ["block in 15 lb with cover in 12 lb"]


def test_a_given_density_is_not_told_as_shared(lineup: Build, tilted: str) -> None:
    text = tilted.replace("density = [1.1, 1.3]", "density = 1.2")
    point = Point({}, lineup(text, {"15": (1.2, 1.4), "12": (1.2, 0.9)}))
    assert point.pours == 3
    assert list(shared_pours(point, NAMES)) == []


def test_an_infeasible_line_is_told_with_its_reason(lineup: Build) -> None:
    result = Frontier(Point({}, lineup(status="infeasible")), (), {})
    text = plain(sharing_blocks(result))
    assert "INFEASIBLE. There is no line-up in which to share densities. Proven by a test." in text
    data = sharing_data(result)
    assert (data["status"], data["frontier"], data["as_it_stands"]) == ("infeasible", [], None)
    assert data["proof"] == "proven by a test"


def test_data_says_what_the_screen_says(lineup: Build) -> None:
    result = frontier(lineup)
    data = json.loads(json.dumps(sharing_data(result), allow_nan=False))
    assert data["format"] == "samespin/sharing@1"
    assert [point["pours"] for point in data["frontier"]] == [4, 3]
    last = data["frontier"][-1]
    assert last["same_density"] == {"cover": "all"}
    assert last["recipes"][0] == {
        "material": "shell",
        "density_g_cm3": 1.15,
        "poured": [{"part": "cover", "weight": "15"}, {"part": "cover", "weight": "12"}],
    }
    assert last["smallest_margin"]["tolerances"] == last["tolerances"]
    assert data["one_density_in_every_weight"] == {"cover": last, "block": None}


def test_a_rule_that_the_line_is_outside_of_is_warned_of(lineup: Build, tilted: str) -> None:
    """A ball of 8.62 in: the rulebook's most is 8.595."""
    own = Point({}, lineup(tilted.replace("8.58", "8.62")))
    result = Frontier(own, (own,), {})
    (warning,) = (w for w in sharing_data(result)["warnings"] if "15 lb: USBC diameter" in w)
    assert f"- Warning: {warning}" in plain(sharing_blocks(result))


def test_a_margin_that_no_density_moves_is_told_beside(lineup: Build, tilted: str) -> None:
    """A wall of about 1 in against a least of 0.9 ± 0.1 in: one tolerance or two, no more."""
    text = tilted.replace("min = 0.2, tolerance = 0.02", "min = 0.9, tolerance = 0.1")
    text = text.replace("top_weight = { min = 1.0, max = 4.0, tolerance = 0.25 }\n", "")
    own = Point({}, lineup(text))
    wall = own.result.smallest
    assert wall is not None
    assert wall.words == "wall min"
    result = plain(sharing_blocks(Frontier(own, (own,), {})))
    assert "- The same for all densities: every weight: wall between block and cover " in result
    assert own.smallest is not None
    assert own.smallest.words != "wall min"
