"""One mould for all weights against two or three: by the closed form of concentric spheres."""

from __future__ import annotations

import itertools
import tomllib

import numpy as np
import pytest
from optimizer_texts import SHELLS, read, shipped

from optimizer.lineup.moulds.starts import Starts
from optimizer.questions.sharing.mould_sharing import mould_frontier, partitions, with_moulds
from optimizer.scenario import scenario

LOW, HIGH = 0.90, 1.27
WEIGHTS = {"a": 7.00, "b": 6.50, "c": 6.00}
ELDER = shipped("elder")


def _text():
    listed = "\n".join(f"{label} = {weight}" for label, weight in WEIGHTS.items())
    return SHELLS.replace("a = 7.0\nb = 6.0", listed)


def _level(group):
    """The smallest margin of one mantle for a group; see the optimum of concentric spheres.

    Covers are μ(1 − y), y = (1 − κ)/(1 − s²): heaviest and lightest as far from the ends of the
    range, as far as the mantle's own range lets them.
    """
    R = 10.85
    mu = [1000 * WEIGHTS[label] / (4 / 3 * np.pi * R**3) for label in group]
    kappa = 6.6**2 / (0.4 * R**2)
    ends = [(1 - kappa) / (1 - (d / (2 * R)) ** 2) for d in (10.0, 20.0)]
    y = np.clip(1 - (LOW + HIGH) / (max(mu) + min(mu)), *ends)
    return min(HIGH - max(mu) * (1 - y), min(mu) * (1 - y) - LOW) / 0.01


def test_the_best_groups_for_each_number_of_moulds_are_those_of_the_closed_form():
    asked = read(_text())
    moulds = mould_frontier(asked, Starts(count=2))
    assert moulds.tried == 4
    for point, count in zip(moulds.points, (1, 2, 3), strict=True):
        best = max(min(map(_level, groups)) for groups in partitions(list(WEIGHTS), count))
        assert min(map(_level, point.groups)) == pytest.approx(best, abs=1e-9)
        assert point.level == pytest.approx(best, abs=0.02)  # the mould as stated, to 0.01 mm
        for group in point.groups:
            picked = point.result.scenario.chosen["bed"]
            assert len({picked[label] for label in group}) == 1
    levels = [point.level for point in moulds.points]
    assert levels[0] < levels[1] - 0.5
    assert levels == sorted(levels)


def test_partitions_are_all_there_are():
    labels = ["16", "15", "14", "13", "12"]
    for count in range(1, 6):
        ways = list(partitions(labels, count))
        assert len(set(ways)) == len(ways)
        assert len(ways) == [1, 4, 6, 4, 1][count - 1]
        assert all(list(itertools.chain(*groups)) == labels for groups in ways)


def test_the_scenario_is_written_with_its_groups_and_all_else_as_it_stands():
    asked = scenario(ELDER, file="elder.toml", target_required=True)
    text = with_moulds(asked, (("16", "15"), ("14", "13")))
    dimensions = tomllib.loads(text)["dimensions"]
    assert all(
        dimension["same"] == [["16", "15"], ["14", "13"]] for dimension in dimensions.values()
    )
    assert text.replace(', same = [["16", "15"], ["14", "13"]]', "") == ELDER
    assert tomllib.loads(with_moulds(asked, (("16", "15", "14", "13"),)))["dimensions"]["tall"] == {
        "min": 5.80,
        "max": 6.60,
        "same": "all",
    }
