"""What a row is, and how its parameters are read."""

from __future__ import annotations

from fractions import Fraction
from typing import Final, NamedTuple, TypeAlias

from optimizer.certificate.forms import ZERO, Form

PI: Final = (Fraction("3.141592653"), Fraction("3.141592654"))
"""π lies between."""

End: TypeAlias = Fraction | None

COUNTS: Final = {
    **dict.fromkeys(("axis", "other", "role", "pair", "column"), 3),
    **dict.fromkeys(("corner", "end", "far", "of", "place"), 2),
}
"""Among how many each of these parameters is a place."""
NUMBERS: Final = frozenset({"at", "nx", "ny", "nz", "sign"})
"""Parameters that are numbers."""


class Row(NamedTuple):
    """`form` is at least `least` and at most `most`, as far as they are given."""

    form: Form
    least: End = ZERO
    most: End = None
