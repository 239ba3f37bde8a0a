"""Arrays side by side, row for row: what a table of edges, cells or lines is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Self

import numpy as np

from shared.arrays import Array, Index


@dataclass(frozen=True, eq=False)
class Aligned:
    """Arrays whose rows belong together. A subclass names them; all are indexed and joined as one.

    A row number, a slice, a mask or an array of row numbers picks from each of them.
    """

    names: ClassVar[tuple[str, ...]]

    def __init_subclass__(cls) -> None:
        cls.names = tuple(cls.__annotations__)

    @property
    def arrays(self) -> tuple[Any, ...]:
        """The arrays, in the order of their names."""
        return tuple(getattr(self, name) for name in self.names)

    def __len__(self) -> int:
        return len(getattr(self, self.names[0]))

    def __getitem__(self, which: Any) -> Self:
        return type(self)(*[getattr(self, name)[which] for name in self.names])

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
