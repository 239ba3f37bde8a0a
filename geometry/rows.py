"""Tables of arrays with common rows, such as edges, cells or lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Self

import numpy as np

from shared.arrays import Array, Index


@dataclass(frozen=True, eq=False)
class Aligned:
    """Arrays with common rows, which a subclass names; they are indexed and joined together.

    The index is a row number, a slice, a mask or an array of row numbers.
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
        """Return the rows of several tables, one after the other."""
        columns = zip(*(run.arrays for run in runs), strict=True)
        return cls(*map(np.concatenate, columns))


def apart(places: Array, least: float, norm: float = 2) -> Index:
    """Return those `places` (k, m) that are farther than `least` from all chosen before them."""
    chosen: list[int] = []
    free = np.ones(len(places), dtype=bool)
    while free.any():
        chosen.append(int(np.argmax(free)))
        free &= np.linalg.norm(places - places[chosen[-1]], norm, axis=1) > least
    return np.array(chosen, dtype=np.intp)
