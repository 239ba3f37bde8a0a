"""The limits that make an edge of a window, named once somebody asks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeAlias

from optimizer.lineup.claims import Claim

Makers: TypeAlias = Sequence[Claim]
"""The limits that make an edge, the most effective first."""


@dataclass(frozen=True, eq=False)
class Named(Sequence[Claim]):
    """The limits that `make` names, once they are asked for: much of a window is cut away first."""

    make: Callable[[], Makers]

    @cached_property
    def _claims(self) -> Makers:
        return self.make()

    def __getitem__(self, k: Any) -> Any:
        return self._claims[k]

    def __len__(self) -> int:
        return len(self._claims)
