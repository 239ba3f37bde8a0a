"""What is proven of the window of weights that share a density, about the CG.

An independent program, of every height of each weight's CG, says which points all weights have with
one density of the cover.
"""

from __future__ import annotations

import json

import numpy as np
import pytest
from oracles.lineups import Line, manufactured
from oracles.windows import alike, figures, outside, sampled

from optimizer.certificate.claims import FORMAT, outcomes
from optimizer.questions.window.deciding import decided, evidence
from optimizer.questions.window.notes import notes
from optimizer.questions.window.window import Window, window
from optimizer.scenario import scenario

COVER = 0
CLEAR = 3e-5
"""cm: farther outside of the lines than this, or inside, the grid of heights tells for sure."""
AROUND = CLEAR * np.array([(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)])


def _two(seed: int, *same: str) -> Line:
    """A line of two weights, about the CG, with one density of some parts."""
    line, _ = manufactured(np.random.default_rng([seed, 77]), "aligned", "cg")
    m = line.weights["15"]
    tied = dict.fromkeys(same, '"all"')
    return line.but(weights={"15": m, "14": 0.97 * m}, top=(None, 4.0), same=tied)


def _window(line: Line) -> Window:
    return window(scenario(line.text(), file="line.toml", target_required=False))


def _wrong(windows: Window) -> list[str | None]:
    """What the checker finds wrong with each of the proofs."""
    shown = [each for each in evidence(windows) if not isinstance(each, str)]
    balls = {label: ball for each in shown for label, ball in each.balls.items()}
    data = {"format": FORMAT, "balls": balls, "claims": [each.data for each in shown]}
    return [outcome.wrong for outcome in outcomes(json.loads(json.dumps(data)))]


@pytest.mark.slow
def test_nothing_lies_beyond_the_window_of_weights_with_one_cover():
    line = _two(4, "cover")
    found = _window(line)
    assert not found.common.bounded
    assert any("--proof FILE" in note for note in notes(found))
    windows = decided(found, lines=True)
    assert not windows.common.proven
    assert windows.common.bounded
    assert any("proven that nothing lies beyond" in note for note in notes(windows))
    assert _wrong(windows) == [None] * 3
    (band,) = windows.common.bands
    outline, random, seen = band.outline, np.random.default_rng(1), [0, 0]
    low, high = outline.min(axis=0), outline.max(axis=0)
    room = 0.1 * (high - low)
    for point in random.uniform(low - room, high + room, (60, 2)):
        off = outside(outline, point + AROUND)
        if off[0] > windows.common.error + CLEAR:
            assert not alike(line, *point.tolist(), COVER), (point, off)
            seen[0] += 1
        elif np.max(off) == 0.0:
            assert alike(line, *point.tolist(), COVER), point
            seen[1] += 1
    assert min(seen) > 8


def test_weights_that_differ_in_an_insert_alone_are_shown_to_share_nothing():
    """What they differ by has the RG of both, by subtraction, and an insert's is less than any."""
    line = _two(0, "cover", "mantle", "block")
    one, random = figures(line), np.random.default_rng(2)
    least = min(float(np.min(sampled(line, m, random, 20_000)[:, 0])) for m in line.weights)
    assert np.sqrt(max(one.along[3], one.across[3]) / one.mass[3]) < 0.9 * least
    found = _window(line)
    assert found.common.empty
    assert not found.common.proven
    windows = decided(found)
    assert windows.common.none
    assert set(_wrong(windows)) == {None}
