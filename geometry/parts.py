"""Parts as drawn: a named shape, where it sits, and which part it lies directly inside of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from geometry.moments import Moments
from geometry.outlines.profile import Profile
from geometry.placement import Placement
from geometry.sections.section import Loop
from geometry.shapes.base import Placed, Shape
from geometry.surfaces.surface import Surface
from geometry.surfaces.velocity import Path, Velocity, affine
from shared.arrays import Array, frozen

SEVERAL = ("shapes", "minus")
"""Where the solids stand of a part that has several."""


@dataclass(frozen=True)
class Part:
    """A part as drawn, with everything that lies inside it still in place.

    `inside` names its host, None of the ball. `through` are the parts that it reaches on into, each
    directly inside the one before: a plug in cover and mantle.
    """

    name: str
    inside: str | None
    shape: Shape
    placement: Placement
    through: tuple[str, ...] = field(default=(), kw_only=True)

    @property
    def hosts(self) -> tuple[str, ...]:
        """The parts whose material it displaces, from the outside in; none of the ball itself."""
        return () if self.inside is None else (self.inside, *self.through)

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

    @property
    def skin(self) -> float:
        """How far the surface that walls go by may lie from the part's own, cm."""
        return self.shape.skin * float(np.linalg.norm(self.matrix[:3, :3], 2))

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
        return self._solids(self.shape.bodies()) or (self,)

    @cached_property
    def holes(self) -> tuple[Part, ...]:
        """The solids that are cut from the part's bodies."""
        return self._solids(self.shape.holes())

    def _solids(self, some: Sequence[Placed]) -> tuple[Part, ...]:
        mine, T = (self.name, self.inside), self.matrix
        return tuple(Body(*mine, s.shape, self.placement, frozen(T @ s.matrix)) for s in some)

    def section(self) -> tuple[Loop, ...]:
        """Return the section by the plane of x and z, in that plane; none where it isn't cut."""
        return self.shape.section(self.matrix)

    def from_the_side(self) -> Part:
        """Return the part turned with its ball about z, so that its y lies where x was."""
        (x, y, z), (about_x, about_y, about_z) = self.placement.at, self.placement.rotate
        turned = replace(self.placement, at=(y, -x, z), rotate=(about_x, about_y, about_z - 90.0))
        return replace(self, placement=turned)

    def moments(self) -> Moments:
        """Moments about the ball's centre, unit density."""
        return self.shape.moments().moved(self.matrix)

    def smooth_moments(self) -> Moments:
        """Return about what they are if triangles stand for a smooth surface; else the same."""
        return self.moments() + self.shape.missed().moved(self.matrix)

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

        Where growing and shrinking differ (the tip of a full cone, whose `top` can only grow) it is
        that of one of them. Raises ValueError as `Shape.velocity` does, and for any other path.
        """
        match path:
            case ("shape", *length):
                return self.shape.velocity(tuple(length)).moved(self.matrix)
            case ("shapes" | "minus", *_):
                return self.shape.velocity(path).moved(self.matrix)
            case ("at", 0 | 1 | 2 as axis):
                G = np.zeros((4, 4))
                G[axis, 3] = 1.0
                return affine(G, self.moments().J)
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
