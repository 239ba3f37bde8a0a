"""Arrays side by side, row for row: what a table of edges, cells or lines is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any, Self

import numpy as np

from shared.arrays import Array, Index


@dataclass(frozen=True, eq=False)
class Aligned:
    """Arrays whose rows belong together. A subclass names them; all are indexed and joined as one.

    A row number, a slice, a mask or an array of row numbers picks from each of them.
    """

    @property
    def arrays(self) -> tuple[Any, ...]:
        """The arrays, in the order of their names."""
        return tuple(getattr(self, field.name) for field in fields(self))

    def __len__(self) -> int:
        return len(self.arrays[0])

    def __getitem__(self, which: Any) -> Self:
        return type(self)(*(array[which] for array in self.arrays))

    @classmethod
    def joined(cls, runs: Sequence[Self]) -> Self:
        """Return the rows of several runs, one run after the other."""
        return cls(
            *(np.concatenate(part) for part in zip(*(run.arrays for run in runs), strict=True))
        )


def apart(places: Array, least: float, norm: float = 2) -> Index:
    """Return which of `places` (k, m) are farther than `least` from all the chosen before them."""
    chosen: list[int] = []
    free = np.ones(len(places), dtype=bool)
    while free.any():
        chosen.append(int(np.argmax(free)))
        free &= np.linalg.norm(places - places[chosen[-1]], norm, axis=1) > least
    return np.array(chosen, dtype=np.intp)
