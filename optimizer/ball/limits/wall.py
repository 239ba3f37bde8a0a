"""The minimum wall between a part and its host, and between neighbours in one host."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, ClassVar, Self

from pydantic import Field

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import WALL
from optimizer.ball.limits.base import Limit
from optimizer.ball.weight_class import LinearMap
from shared.models import AsTuple, Length, LengthOrZero, Path, StrictModel


class WallException(StrictModel):
    """Another minimum for one pair of parts."""

    between: Annotated[tuple[str, str], AsTuple]
    min: LengthOrZero


class WallLimit(Limit):
    """Every wall at least `min`, with other minima for the pairs under `except`.

    A part that is set into others may end at its host's surface: its wall there is at least 0,
    without a tolerance.
    """

    key: ClassVar[str] = "wall"

    min: LengthOrZero
    tolerance: Length | None = None
    exceptions: Annotated[tuple[WallException, ...], AsTuple, Field(alias="except")] = ()

    def bounds(self, linear_map: LinearMap) -> Iterator[Bound]:
        """Yield one for each pair that has a wall."""
        path: Path = ("limits", self.key)
        own = {
            frozenset(other.between): (other.min, (*path, "except", k))
            for k, other in enumerate(self.exceptions)
        }
        set_in = {frozenset((p.inside, p.name)) for p in linear_map.parts if p.through} - set(own)
        for pair in WALL.subjects(linear_map):
            free = frozenset(pair or ()) in set_in
            least, there = own.get(frozenset(pair or ()), (self.min, path))
            yield Bound(
                WALL,
                low=0.0 if free else least,
                of=pair,
                weight=linear_map.label,
                tolerance=None if free else self.tolerance,
                path=() if free else there,
            )

    @classmethod
    def example(cls) -> Self:
        """A fifth of an inch."""
        return cls(min=0.508, tolerance=0.0508)
