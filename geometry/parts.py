"""Parts as drawn: a named shape, where it sits, and which part it lies directly inside of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.moments import Moments
from geometry.outline import Profile
from geometry.placement import Placement
from geometry.section import Loop
from geometry.shapes.base import Shape
from geometry.surface import Surface
from geometry.velocity import Affine, Moved, Path, Velocity
from shared.arrays import Array, frozen

SEVERAL = ("shapes", "minus")
"""Where the solids stand of a part that has several."""


@dataclass(frozen=True)
class Part:
    """A part as drawn, with everything that lies inside it still in place.

    `inside` is the name of its host, None for the outermost part (the ball itself).
    """

    name: str
    inside: str | None
    shape: Shape
    placement: Placement

    @cached_property
    def matrix(self) -> Array:
        """The homogeneous matrix T (4, 4) from the shape's axes to the ball's."""
        return self.placement.matrix

    @cached_property
    def flats(self) -> Array:
        """Unit normals (k, 3) of the flat faces in the ball's axes: normals map by A⁻ᵀ."""
        normals = self.shape.flats().reshape(-1, 3) @ np.linalg.inv(self.matrix[:3, :3])
        return frozen(normals / np.linalg.norm(normals, axis=1, keepdims=True))

    @cached_property
    def convex(self) -> bool:
        """Whether the part is convex, as its shape is."""
        return self.shape.convex

    @cached_property
    def profile(self) -> Profile | None:
        """The outline of a shape turned about its own z, in its own axes, else None."""
        return self.shape.profile()

    @cached_property
    def surface(self) -> Surface:
        """The surface, in the ball's axes."""
        return self.shape.surface().moved(self.matrix)

    def clearance(self, points: Array) -> Array:
        """Return distances (n,), cm, that the surface is no nearer than to `points` (n, 3)."""
        A = self.matrix[:3, :3]
        local = (points - self.matrix[:3, 3]) @ np.linalg.inv(A).T
        least = float(np.linalg.svd(A, compute_uv=False)[-1])
        return np.asarray(least * self.shape.clearance(local))

    @cached_property
    def bodies(self) -> tuple[Part, ...]:
        """The solids that the part is joined from, before anything is cut; itself, if it is one."""
        return tuple(
            Body(
                self.name,
                self.inside,
                body.shape,
                self.placement,
                frozen(self.matrix @ body.matrix),
            )
            for body in self.shape.bodies()
        ) or (self,)

    @cached_property
    def holes(self) -> tuple[Part, ...]:
        """The solids that are cut from the part's bodies."""
        return tuple(
            Body(
                self.name,
                self.inside,
                hole.shape,
                self.placement,
                frozen(self.matrix @ hole.matrix),
            )
            for hole in self.shape.holes()
        )

    def section(self) -> tuple[Loop, ...]:
        """Return the section by the plane of x and z, in that plane; none where it isn't cut."""
        return self.shape.section(self.matrix)

    def moments(self) -> Moments:
        """Moments about the ball's centre, unit density."""
        return self.shape.moments().moved(self.matrix)

    def moments_by_surface(self) -> Moments:
        """Return the same by quadrature over the surface alone: a check that shares no formula."""
        return self.shape.moments_by_surface(self.matrix)

    def dimensions(self) -> tuple[Path, ...]:
        """Return where the part's lengths stand: ("shape", …), then ("at", 0) to ("at", 2)."""
        lengths = (
            path if path[0] in SEVERAL else ("shape", *path) for path in self.shape.lengths()
        )
        return (*lengths, *(("at", axis) for axis in range(3)))

    def velocity(self, path: Path) -> Velocity:
        """Return the velocity of the surface, in the ball's axes, while the length at `path` grows.

        A derivative is that at a generic place: where growing and shrinking differ (the tip of a
        full cone, whose `top` can only grow) it is that of one of them. Raises ValueError as
        `Shape.velocity` does, and for any other path.
        """
        match path:
            case ("shape", *length):
                return Moved(self.shape.velocity(tuple(length)), self.matrix)
            case ("shapes" | "minus", *_):
                return Moved(self.shape.velocity(path), self.matrix)
            case ("at", 0 | 1 | 2 as axis):
                G = np.zeros((4, 4))
                G[axis, 3] = 1.0
                return Affine(G, self.moments().J)
        raise ValueError(f'part "{self.name}" has no length {path}')

    def support_points(self, directions: Array) -> Array:
        """For unit `directions` (k, 3): the points (k, 3) of the part farthest along each, cm.

        The support function obeys h_TK(n) = h_K(Aᵀn) + t·n, so the point is T·K(Aᵀn).
        """
        A = self.matrix[:3, :3]
        local = directions @ A
        local /= np.linalg.norm(local, axis=1, keepdims=True)
        return self.shape.support_points(local) @ A.T + self.matrix[:3, 3]


@dataclass(frozen=True, eq=False)
class Body(Part):
    """A solid of a part of several: `T` (4, 4) takes its shape's axes to the ball's."""

    T: Array

    @cached_property
    def matrix(self) -> Array:
        """The homogeneous matrix T."""
        return self.T


def children(parts: Sequence[Part]) -> Mapping[str, tuple[Part, ...]]:
    """For the name of every part: the parts directly inside it, in file order.

    Raises ValueError when the parts are no tree: a name that stands twice, an unknown host, a
    circle, or not exactly one outermost part.
    """
    found: dict[str, list[Part]] = {part.name: [] for part in parts}
    if len(found) < len(parts):
        raise ValueError("two parts have the same name")
    outermost = [part.name for part in parts if part.inside is None]
    if len(outermost) != 1:
        raise ValueError(f"exactly one part must be outermost, not {len(outermost)}")
    for part in parts:
        if part.inside is None:
            continue
        if part.inside not in found:
            raise ValueError(f'"{part.name}" is inside "{part.inside}", which is no part')
        found[part.inside].append(part)
    tree = {name: tuple(inner) for name, inner in found.items()}
    reached = {outermost[0], *(part.name for part in _below(outermost[0], tree))}
    for name in found:
        if name not in reached:
            raise ValueError(f'"{name}" is inside itself, by way of the parts around it')
    return tree


def outermost(parts: Sequence[Part]) -> Part:
    """Return the part that nothing surrounds: the ball. Raises ValueError as `children` does."""
    children(parts)
    return next(part for part in parts if part.inside is None)


def casting_order(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts innermost first: each before its host, siblings in file order.

    Raises ValueError as `children` does.
    """
    ball = outermost(parts)
    return (*_below(ball.name, children(parts)), ball)


def _below(name: str, tree: Mapping[str, tuple[Part, ...]]) -> tuple[Part, ...]:
    """Everything inside the part `name`, at any depth, each part before its host."""
    return tuple(part for child in tree[name] for part in (*_below(child.name, tree), child))
