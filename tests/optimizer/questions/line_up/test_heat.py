"""Parts against weights: the measured densities, their colours, their places in their ranges."""

from __future__ import annotations

import numpy as np
import pytest
import reported
from drawn import SVG, collisions, read, words
from lines import PARTS, line_text

from optimizer.paper.pictures.cividis import colour
from optimizer.questions.line_up.balls.densities import Scale
from optimizer.questions.line_up.balls.heat import heat

MIDDLES = {"shell": 1.17, "light": 0.95, "filled": 1.75, "dense": 2.2}
TWO = {"15": (1.3, 1.4), "12": (1.15, 0.9)}


def line(parts: int, weights: int, *, metric: bool = False) -> tuple[str, dict]:
    base = [MIDDLES[row[5]] for row in PARTS[:parts]]
    return line_text(parts, weights, metric=metric), {
        str(16 - k): tuple(one + 0.01 * k for one in base) for k in range(weights)
    }


def tagged(picture, name: str) -> list:
    return [one for one in read(picture).iter() if one.get("class") == name]


@pytest.mark.parametrize("metric", [False, True])
@pytest.mark.parametrize("parts", [3, 5, 8, 12])
@pytest.mark.parametrize("weights", [1, 3, 5, 8])
def test_words_do_not_stand_on_one_another(lineup, parts, weights, metric):
    for status in ("feasible", "undecided"):
        result = lineup(*line(parts, weights, metric=metric), status)
        assert collisions(heat(result).whole) == []


def test_every_density_stands_in_its_cell_in_its_colour(lineup):
    result = lineup(*line(5, 3))
    picture = heat(result).whole
    rows = np.array([w.ball.densities for w in result.weights]).T.ravel()
    low, high = rows.min(), rows.max()
    cells = tagged(picture, "cell")
    assert [one.get("fill") for one in cells] == [colour((d - low) / (high - low)) for d in rows]
    told = words(picture)
    first = told.index(f"{rows[0]:.4f}")
    assert [one for one in told[first:] if one in {f"{d:.4f}" for d in rows}] == [
        f"{d:.4f}" for d in rows
    ]
    assert all(f"{d:.4f} g/cm³" in picture.about for d in rows)
    assert {f"{low:.4f} g/cm³", f"{high:.4f} g/cm³"} <= set(told)


def test_bars_say_where_in_its_range_a_density_is(lineup, tilted):
    """15 lb: 1.25 of 1.1 to 1.3 is three quarters; 12 lb: block at 1.75 of 0.6 to 2.9, a half."""
    picture = heat(lineup(tilted, {"15": (1.25, 2.9), "12": (1.1, 1.75)})).whole
    wide = [float(one.get("width")) for one in tagged(picture, "bar")]
    full = wide[2]
    assert np.array(wide) / full == pytest.approx([0.75, 0.0, 1.0, 0.5], abs=1e-3)
    assert (len(tagged(picture, "least")), len(tagged(picture, "most"))) == (1, 1)
    told = words(picture)
    assert (told.count("at its minimum"), told.count("at its maximum")) == (1, 1)
    assert {"1.1000 to 1.3000 g/cm³", "0.6000 to 2.9000 g/cm³"} <= set(told)


def test_a_density_over_its_most_is_said_to_be(lineup, tilted):
    picture = heat(lineup(tilted, {"15": (1.35, 1.4), "12": (1.15, 0.5)})).whole
    assert {"over its maximum", "under its minimum"} <= set(words(picture))
    assert "1.3500 g/cm³, 0.0500 over its maximum" in picture.about


def test_a_fixed_density_has_no_bar(lineup, tilted):
    text = tilted.replace("density = [1.1, 1.3]", "density = 1.2")
    picture = heat(lineup(text, {"15": (1.2, 1.4), "12": (1.2, 0.9)})).whole
    assert len(tagged(picture, "bar")) == 2
    assert words(picture).count("fixed") == 3


def test_what_is_no_solution_is_said_to_be_none(lineup):
    assert "not a solution" in " ".join(words(heat(lineup(status="undecided")).whole))
    assert "not a solution" not in heat(lineup()).whole.file()


def test_the_same_line_gives_the_same_bytes_and_a_scale_can_be_shared(lineup):
    assert heat(lineup()).whole.file() == heat(lineup()).whole.file()
    wide = Scale(0.0, 4.0)
    picture = heat(lineup(), wide, "other").whole
    assert tagged(picture, "cell")[0].get("fill") == wide.colour(1.2)
    ids = [one.get("id") for one in read(picture).iter(f"{SVG}linearGradient")]
    assert ids == ["other-scale"]


def test_a_part_that_does_not_stand_in_a_weight_has_an_empty_cell_that_says_so():
    result = reported.line(reported.CORES)
    picture = heat(result).whole
    here = [(p.part, w.label) for w in result.weights for p in w.ball.map.pours]
    every = len(result.scenario.pours) * len(result.weights)
    assert len(tagged(picture, "cell")) == len(here) == every - 7
    assert len(tagged(picture, "gap")) == words(picture).count("this weight") == 7
    assert "keel, 1.6000 to 3.6000 g/cm³: 16 lb 2.6000 g/cm³" in picture.about
    assert "13 lb not in this weight; 12 lb not in this weight" in picture.about
    assert collisions(picture) == []
