"""The screen, the data and the picture of a curve."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace

import answers
import numpy as np
import pytest

from optimizer.ball.figures import LOW_RG
from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Table
from optimizer.paper.quantities import Unit
from optimizer.paper.writers.console import plain
from optimizer.questions.trade.chart import frame_of, pieces
from optimizer.questions.trade.data import trade_data
from optimizer.questions.trade.page import inward, trade_blocks
from optimizer.questions.trade.picture import trade_picture
from optimizer.questions.trade.trade import Spot, Trade
from shared.units import of_length

INCH, MM = (Unit.on_paper(of_length(name)) for name in ("in", "mm"))
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def curve() -> Trade:
    return answers.curve("alder", LOW_RG)


def spot(value: float, level: float = 1.0) -> Spot:
    return Spot(value, level, frozenset(), ())


@pytest.mark.parametrize(
    ("low", "high", "unit", "words"),
    [
        (2.51031 * 2.54, 2.57049 * 2.54, INCH, "from 2.5104 to 2.5704 in"),
        (2.5 * 2.54, 2.6 * 2.54, INCH, "from 2.5000 to 2.6000 in"),
        (2.54301 * 2.54, 2.54315 * 2.54, INCH, "at 2.5431 in"),
        (2.54301 * 2.54, 2.54309 * 2.54, INCH, "close to 2.543050 in only"),
        (6.50001, 6.6, MM, "from 65.001 to 66.000 mm"),
    ],
)
def test_the_ends_of_what_is_feasible_are_rounded_inward(low, high, unit, words) -> None:
    assert inward(spot(low), spot(high), unit) == words


def test_the_screen_says_what_a_designer_needs(curve: Trade) -> None:
    text = plain(trade_blocks(curve))
    best = curve.best
    assert best is not None
    assert best.tolerances is not None
    first = text.splitlines()[0]
    ((low, high),) = curve.ranges
    assert f"best at {best.value / 2.54:.4f} in, {best.tolerances:.1f} tolerances" in first
    ends = [float(end) for end in re.findall(r"from ([\d.]+) to ([\d.]+) in", first)[0]]
    assert low.value / 2.54 <= ends[0] < low.value / 2.54 + 1e-4
    assert high.value / 2.54 - 1e-4 < ends[1] <= high.value / 2.54
    assert "wall between block and girdle" in text
    assert "that is above the whole curve" in text


def test_kinks_stand_in_the_table_and_on_the_plot(curve: Trade) -> None:
    blocks = trade_blocks(curve)
    (table,) = (block for block in blocks if isinstance(block, Table))
    assert [row[0] for row in table.rows] == ["1", "2", "3"]
    for row, kink in zip(table.rows, curve.kinks, strict=True):
        assert row[1] == f"{kink.spot.value / 2.54:.4f}"
        assert row[2] == f"{kink.spot.tolerances:.2f}"
        for claim in kink.enters:
            assert f"{claim.of} {claim.words}" in row[3]
    lines = plain(blocks).splitlines()
    start = lines.index("smallest margin, tolerances")
    plot = lines[start : start + 27]
    assert max(map(len, plot)) <= 80
    drawn = "\n".join(line[10:] for line in plot[1:23])
    assert {mark for mark in "123" if mark in drawn} == set("123")


def test_a_file_has_every_sample(curve: Trade) -> None:
    table = trade_blocks(curve, whole=True)[-1]
    assert isinstance(table, Table)
    assert len(table.rows) == len(curve.spots)


def test_data_says_what_the_curve_is(curve: Trade) -> None:
    data = json.loads(json.dumps(trade_data(curve), allow_nan=False))
    assert (data["format"], data["figure"], data["status"]) == (
        "samespin/trade@1",
        "rg",
        "feasible",
    )
    values = [spot["value_in"] for spot in data["curve"]]
    assert values == sorted(values)
    assert data["range_in"] == [values[0], values[-1]] == [2.51, 2.58]
    assert data["best"]["tolerances"] == max(spot["tolerances"] for spot in data["curve"])
    for spot in data["curve"]:
        assert spot["smallest_margin"]["tolerances"] == spot["tolerances"]
        assert spot["target"]["rg_in"] == spot["value_in"]
    for kink, shown in zip(curve.kinks, data["kinks"], strict=True):
        assert len(shown["takes_over"]) == len(kink.enters)
        assert {limit["words"] for limit in shown["in_place_of"]} == {
            f"{claim.of} {claim.words}" for claim in kink.leaves
        }
    ((low, high),) = data["feasible_in"]
    inside = [spot["tolerances"] for spot in data["curve"] if low <= spot["value_in"] <= high]
    assert min(inside) > -0.01


def test_what_is_drawn_ends_where_the_frame_does(curve: Trade) -> None:
    """An end that lies far below zero is cut at the bottom, on the chord, and told."""
    deep = replace(curve.spots[-1], level=-30.0)
    trade = replace(curve, spots=(*curve.spots[:-1], deep))
    frame = frame_of(trade, INCH)
    (points,) = pieces(trade, frame)
    assert points[-1, 1] == frame.up[0] > -10.0
    assert np.all(np.diff(points[:, 0]) > 0.0)
    levels = np.interp(points[:, 0], *np.array([(s.value, s.level) for s in trade.spots]).T)
    assert points[:, 1] == pytest.approx(levels, abs=1e-9)
    assert "The curve is not drawn below " in plain(trade_blocks(trade))
    assert "the curve is not drawn" not in plain(trade_blocks(curve))


def test_the_picture_has_the_curve_its_kinks_and_words(curve: Trade) -> None:
    root = ET.fromstring(trade_picture(curve).file())  # noqa: S314 - our own
    assert root[0].tag == f"{SVG}title"
    assert root[1].tag == f"{SVG}desc"
    assert "Kink" in (root[1].text or "")
    words = [text.text or "" for text in root.iter(f"{SVG}text")]
    for expected in ("low RG, in", "smallest margin, tolerances", "feasible", "1", "2", "3"):
        assert expected in words
    classes = [element.get("class") for element in root.iter() if element.get("class")]
    assert classes.count("curve") == 1
    assert classes.count("best") == 1
    assert classes.count("feasible") == 1
    assert max(map(len, words)) <= 110


def test_a_gap_breaks_the_curve_and_is_told(curve: Trade) -> None:
    spots = list(curve.spots)
    for k in range(5, 9):
        spots[k] = replace(spots[k], level=-np.inf, weights=())
    trade = replace(curve, spots=tuple(spots))
    text = plain(trade_blocks(trade, whole=True))
    a, b = (f"{spots[k].value / 2.54:.4f}" for k in (5, 8))
    assert f"There is no curve from {a} to {b} in: no line-up was found" in text
    assert len(list(pieces(trade, frame_of(trade, INCH)))) == 2
    data = trade_data(trade)
    assert data["curve"][5]["tolerances"] is None
    assert len(data["gaps_in"]) == 1


def test_no_line_up_at_all_is_told_without_a_plot(
    curve: Trade, lineup: Callable[..., LineupResult]
) -> None:
    spots = tuple(replace(spot, level=-np.inf, weights=()) for spot in curve.spots)
    verdict = lineup(status="undecided")
    trade = replace(curve, spots=spots, kinks=(), best=None, ranges=(), verdict=verdict)
    text = plain(trade_blocks(trade))
    assert (
        "UNDECIDED. No line-up exactly on target was found at any low RG from 2.510 to 2.580 in."
        in text
    )
    assert "Proven by a test." in text
    assert trade_data(trade)["best"] is None
    assert "there is no curve to draw" in trade_picture(trade).file()


def test_nothing_feasible_is_told_with_its_proof(
    curve: Trade, lineup: Callable[..., LineupResult]
) -> None:
    spots = curve.spots[-3:]
    verdict = lineup(status="infeasible")
    trade = replace(curve, spots=spots, kinks=(), best=spots[0], ranges=(), verdict=verdict)
    text = plain(trade_blocks(trade))
    assert "INFEASIBLE, exactly on target, at every low RG from " in text
    assert "The best is " in text
    assert "INFEASIBLE" not in plain(trade_blocks(curve))
    assert trade_data(trade)["proof"] == "proven by a test"
    assert "feasible" not in [
        element.get("class")
        for element in ET.fromstring(trade_picture(trade).file()).iter()  # noqa: S314
    ]
