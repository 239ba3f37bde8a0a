"""How shares are told: none and all as bounds, and nothing rounded to 0 or to 100 %."""

from __future__ import annotations

import re

import pytest

from optimizer.questions.tolerance.words import interval, percent
from optimizer.spread.simulation import share

EACH = 1 << 16


@pytest.mark.parametrize("missing", [1, 3, 40, 700, 5000, 9000])
def test_a_share_is_told_as_all_or_none_only_where_it_is(missing: int) -> None:
    """Of 16 times 65,536 balls; 100.00 % of them, with some missing, would claim too much."""
    most = share([EACH - missing] + [EACH] * 15, [EACH] * 16)
    least = share([missing] + [0] * 15, [EACH] * 16)
    assert float(percent(most).split()[0]) < 100.0
    assert float(percent(least).split()[0]) > 0.0
    assert float(interval(most).split(" to ")[0]) < 100.0
    assert float(interval(least).split(" to ")[1]) > 0.0


def test_all_and_none_are_bounds() -> None:
    """1 − 0.025^(1/n) for n = 2²⁰ (Clopper and Pearson, 1934): 3.5 in a million."""
    assert percent(share([EACH] * 16, [EACH] * 16)) == "over 99.9996 %"
    assert percent(share([0] * 16, [EACH] * 16)) == "under 0.0004 %"
    assert not re.match(r"100\.0+ to", interval(share([EACH] * 16, [EACH] * 16)))
