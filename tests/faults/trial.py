"""What came of one try."""

from __future__ import annotations

from typing import NamedTuple


class Trial(NamedTuple):
    """One try of a fault: when or how it came, what is wrong, and how long a signal took, in s."""

    how: str
    wrong: str | None = None
    seconds: float = 0.0
