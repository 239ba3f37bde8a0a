"""Which unknowns there are, and which weights are solved together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from oracles.lineups import manufactured

from optimizer.ball.figures import LOW_RG
from optimizer.ball.targets import Span
from optimizer.lineup.columns import columns, coupled

ALL = (("16", "15", "14"),)


@pytest.fixture(scope="module")
def maps(lineup):
    """Three weight classes of one mould; only the labels and weights differ."""
    line, _ = manufactured(np.random.default_rng(1), "aligned", "cg")
    mass = line.weights["15"]
    return lineup(line.but(weights={"16": mass, "15": 0.96 * mass, "14": 0.9 * mass})).maps


def _fixed(maps, part):
    """The same classes with one part's density given."""
    return tuple(
        replace(
            one,
            pours=tuple(
                replace(pour, low=1.1, high=1.1) if pour.part == part else pour
                for pour in one.pours
            ),
        )
        for one in maps
    )


def test_weights_that_share_nothing_are_solved_alone(maps):
    assert list(coupled(maps, {})) == [(0,), (1,), (2,)]


def test_one_pour_for_all_ties_all_weights(maps):
    assert list(coupled(maps, {"cover": ALL})) == [(0, 1, 2)]


def test_a_fixed_pour_ties_nothing(maps):
    assert list(coupled(_fixed(maps, "cover"), {"cover": ALL})) == [(0,), (1,), (2,)]


def test_groups_of_two_parts_chain(maps):
    """16 with 14 by the cover, 14 with 15 by the mantle: all three."""
    sharing = {"cover": (("16", "14"), ("15",)), "mantle": (("14", "15"), ("16",))}
    assert list(coupled(maps, sharing)) == [(0, 1, 2)]
    assert list(coupled(maps, {"cover": sharing["cover"]})) == [(0, 2), (1,)]


def test_a_free_target_ties_all_weights(maps):
    free = tuple(replace(m, target={**m.target, LOW_RG: Span(6.3, 6.6)}) for m in maps)
    assert list(coupled(free, {})) == [(0, 1, 2)]


def test_a_shared_density_has_one_column(maps):
    sharing = {"cover": ALL, "mantle": (("16", "15"), ("14",))}
    some = columns(maps, sharing)
    assert some.figures == 1 + 2 + 3 + 3
    assert len({int(own[0]) for own in some.poured}) == 1
    assert some.poured[0][1] == some.poured[1][1] != some.poured[2][1]
    assert some.count == some.figures + 2  # RG and differential


def test_tied_densities_have_one_column_and_what_both_ranges_allow(maps):
    """Of two parts of one ball, too: their derivatives add up."""
    some = columns(maps, {})
    first, second = (int(j) for j in some.poured[0][:2])
    other = int(some.poured[2][1])
    lower = some.lower.copy()
    lower[second] = 0.7
    tied = replace(some, lower=lower).tied([(first, second), (other, second)])
    (column,) = {*tied.poured[0][:2].tolist(), int(tied.poured[2][1])}
    assert tied.lower[column] == 0.7
    row = tied.scatter(0, np.array([[1.0, 2.0, 3.0, 4.0], [0.0, -1.0, 0.0, 0.0]]))
    assert row[:, column].tolist() == [3.0, -1.0]
    assert row.sum(axis=1).tolist() == [10.0, -1.0]


def test_a_row_over_shared_columns_adds_up(maps):
    """Both weights' derivatives in their own densities, laid on one line's columns."""
    some = columns(maps, {"cover": ALL})
    row = some.scatter(1, np.array([1.0, 2.0, 3.0, 4.0]), np.array([5.0, 6.0]))
    assert row[some.poured[1]].tolist() == [1.0, 2.0, 3.0, 4.0]
    assert row[some.figures :].tolist() == [5.0, 6.0]
    assert np.count_nonzero(row) == 6
