"""How many of many cases are tried: all of them with `make whole`, else enough to notice a slip."""

import os

WHOLE = "SAMESPIN_WHOLE"
"""Where it is set in the environment, all are tried."""


def some_of(count: int) -> int:
    """Return `count`, or without WHOLE a quarter of it."""
    return count if os.environ.get(WHOLE) else -(-count // 4)
