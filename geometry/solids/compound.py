"""Unions and differences of solids, by the simplest correct method for each.

Separate solids add, one cut from within another subtracts: exact. Those turned about one line are
joined and cut as outlines, and are one turned solid again: exact. All others are measured by the
remaining parts of their surfaces, with a stated error.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from itertools import combinations
from operator import add, sub

import numpy as np

from geometry.moments import Moments
from geometry.outlines.merge import left_of
from geometry.parts import Part
from geometry.solids.kept import Kept, kept
from geometry.walls.between_surfaces import samples
from geometry.walls.common_axis import joined_turned
from geometry.walls.thinnest import wall
from shared.arrays import Array, Mask
from shared.tolerances import TOUCH


@dataclass(frozen=True, eq=False)
class Group:
    """Connected solids, and what is cut from them.

    `bodies` minus `holes` is exact, unless solids `cross`: then the bodies are those before
    anything is cut, and `left` is the result.
    """

    bodies: tuple[Part, ...]
    holes: tuple[Part, ...] = ()
    cross: bool = False

    @cached_property
    def left(self) -> Kept | None:
        """The moments from surfaces that cross. Raises InputError as `kept` does."""
        return kept(self.bodies, self.holes) if self.cross else None

    def measured(self, moments: Callable[[Part], Moments]) -> Moments:
        """Return the moments of the result; `moments` gives those of a body."""
        if self.left is not None:
            return self.left.moments
        whole = reduce(add, map(moments, self.bodies), Moments.zero())
        return reduce(sub, map(moments, self.holes), whole)


@dataclass(frozen=True, eq=False)
class Compound:
    """The solids `plus` joined, and `minus` cut from them, each a part in common axes."""

    plus: tuple[Part, ...]
    minus: tuple[Part, ...]

    def inside(self, points: Array) -> Mask:
        """Return which points (n, 3) are inside, (n,)."""
        solids = (*self.plus, *self.minus)
        within = np.stack([solid.surface.inside(points) for solid in solids])
        return left_of(within, len(self.plus))

    @cached_property
    def idle(self) -> tuple[Part, ...]:
        """The solids of `minus` that cut nothing."""
        return tuple(m for m in self.minus if all(_gap(m, p) > 0 for p in self.plus))

    @cached_property
    def groups(self) -> tuple[Group, ...]:
        """The connected groups, in the order of `plus`."""
        plus, minus = _outer(self.plus), [m for m in _outer(self.minus) if m not in self.idle]
        holes = [
            m
            for m in minus
            if any(_holds(p, m) for p in plus) and all(m is o or _gap(m, o) > 0 for o in minus)
        ]
        biting = [m for m in minus if m not in holes]
        groups = [_group(*solids) for solids in _together(plus, biting)]
        return (*groups, Group((), tuple(holes))) if holes else tuple(groups)

    @property
    def lumps(self) -> int:
        """The number of separate pieces as drawn, before cuts."""
        return len(_together(_outer(self.plus), []))

    @cached_property
    def moments(self) -> Moments:
        """Moments of the result, unit density."""
        return self.measured(Part.moments)

    def measured(self, moments: Callable[[Part], Moments]) -> Moments:
        """Return the moments of the result; `moments` gives those of a body."""
        return reduce(add, (group.measured(moments) for group in self.groups), Moments.zero())

    @property
    def error(self) -> float:
        """The moments' error, relative to volume × size to their degree; 0 if exact."""
        return max((g.left.error for g in self.groups if g.left is not None), default=0.0)

    @cached_property
    def bodies(self) -> tuple[Part, ...]:
        """The solids whose union it is, before anything more is cut."""
        return tuple(body for group in self.groups for body in group.bodies)

    @cached_property
    def holes(self) -> tuple[Part, ...]:
        """The solids that are cut from the bodies."""
        return tuple(hole for group in self.groups for hole in group.holes)


def _gap(first: Part, second: Part) -> float:
    """Return the distance of two solids, cm; 0 or less if they may touch."""
    if not (first.convex and second.convex):
        a, b = first.surface, second.surface
        if a.inside(samples(b)).any() or b.inside(samples(a)).any():
            return -np.inf
    between = wall(first, second, nested=False)
    return between.thickness - max(between.error, TOUCH)


def _holds(host: Part, solid: Part) -> bool:
    """Whether a solid certainly lies in another one."""
    if not host.convex and not bool(host.surface.inside(samples(solid.surface)).all()):
        return False
    between = wall(solid, host, nested=True)
    return between.thickness >= (-TOUCH if host.convex else between.error)


def _outer(solids: Sequence[Part]) -> list[Part]:
    """Return the solids that lie in no other one; of equal ones, the first."""
    left: list[Part] = []
    for i, solid in enumerate(solids):
        others = (*left, *solids[i + 1 :])
        alike = [(o.shape, o.placement) == (solid.shape, solid.placement) for o in others]
        if not any(
            _holds(o, solid) and not (a and o not in left)
            for o, a in zip(others, alike, strict=True)
        ):
            left.append(solid)
    return left


def _together(plus: Sequence[Part], minus: Sequence[Part]) -> list[tuple[list[Part], list[Part]]]:
    """Return the solids in connected groups, each with what is cut from it."""
    every = [*plus, *minus]
    group = list(range(len(every)))
    for j, second in enumerate(every):
        for i, first in enumerate(every[:j]):
            if group[i] != group[j] and _gap(first, second) <= 0:
                group = [group[i] if of == group[j] else of for of in group]
    together: dict[int, tuple[list[Part], list[Part]]] = {}
    for k, (solid, number) in enumerate(zip(every, group, strict=True)):
        together.setdefault(number, ([], []))[k >= len(plus)].append(solid)
    return list(together.values())


def _group(plus: Sequence[Part], minus: Sequence[Part]) -> Group:
    """Return the group that connected solids form."""
    plus = _turned_as_one(plus)
    if not minus and (len(plus) == 1 or _only_touch(plus)):
        return Group(tuple(plus))
    joined = joined_turned(plus, minus)
    return Group(*joined) if joined else Group(tuple(plus), tuple(minus), cross=True)


def _only_touch(solids: Sequence[Part]) -> bool:
    """Whether all solids are convex, and none cross."""
    return all(
        a.convex and b.convex and wall(a, b, nested=False).thickness >= -TOUCH
        for a, b in combinations(solids, 2)
    )


def _turned_as_one(solids: Sequence[Part]) -> list[Part]:
    """Return the solids, with those turned about one line joined if that makes one body."""
    left: list[Part] = []
    for solid in solids:
        for k, earlier in enumerate(left):
            joined = joined_turned([earlier, solid], [])
            if joined is not None and len(joined[0]) == 1 and not joined[1]:
                left[k] = joined[0][0]
                break
        else:
            left.append(solid)
    return left
