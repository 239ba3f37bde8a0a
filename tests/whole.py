"""How many of many cases are tried: all of them with `make whole`, else enough to notice a slip."""

import os
from collections.abc import Sequence
from typing import TypeVar

WHOLE = bool(os.environ.get("SAMESPIN_WHOLE"))
"""Whether all are tried."""

T = TypeVar("T")


def some_of(count: int) -> int:
    """Return `count`, or a quarter of it."""
    return count if WHOLE else -(-count // 4)


def half_of(cases: Sequence[T]) -> Sequence[T]:
    """Return the cases, or every other one."""
    return cases if WHOLE else cases[::2]
