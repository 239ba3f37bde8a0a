"""Arrays that can't be changed, and tables of published figures."""

from __future__ import annotations

import numpy as np
import pytest

from shared.arrays import frozen
from shared.reference import table


def test_a_frozen_array_is_a_copy_that_refuses_writing():
    original = np.arange(3.0)
    kept = frozen(original)
    original[0] = 9.0
    assert kept.tolist() == [0.0, 1.0, 2.0]
    with pytest.raises(ValueError, match="read-only"):
        kept[0] = 1.0


@pytest.mark.parametrize("name", ["rulebook", "solids", "cautions"])
def test_every_table_of_figures_is_there(name):
    assert table(name)


def test_a_table_that_is_not_there_is_said():
    with pytest.raises(FileNotFoundError):
        table("no such table")
