"""Parts as drawn: a named shape, its placement, and the part directly around it."""

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
"""The keys of the solids of a part that has several."""


@dataclass(frozen=True)
class Part:
    """A part as drawn, including everything inside it.

    `inside` names its host; None for the ball. `through` are the parts that it also reaches into,
    each directly inside the one before: a plug in cover and mantle.
    """

    name: str
    inside: str | None
    shape: Shape
    placement: Placement
    through: tuple[str, ...] = field(default=(), kw_only=True)

    @property
    def hosts(self) -> tuple[str, ...]:
        """The parts whose material it displaces, from the outside in; none for the ball."""
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
        """How far the surface used for walls may be from the part's own, cm."""
        return self.shape.skin * float(np.linalg.norm(self.matrix[:3, :3], 2))

    @cached_property
    def profile(self) -> Profile | None:
        """The outline, in its own axes, of a shape turned about its own z, else None."""
        return self.shape.profile()

    @cached_property
    def surface(self) -> Surface:
        """The surface, in the ball's axes."""
        return self.shape.surface().moved(self.matrix)

    def clearance(self, points: Array) -> Array:
        """Return lower bounds (n,), cm, on the distances of the surface from `points` (n, 3)."""
        A = self.matrix[:3, :3]
        local = (points - self.matrix[:3, 3]) @ np.linalg.inv(A).T
        least = float(np.linalg.svd(A, compute_uv=False)[-1])
        return np.asarray(least * self.shape.clearance(local))

    @cached_property
    def bodies(self) -> tuple[Part, ...]:
        """The solids that form the part, before anything is cut; the part itself, if just one."""
        return self._solids(self.shape.bodies()) or (self,)

    @cached_property
    def holes(self) -> tuple[Part, ...]:
        """The solids that are cut from the part's bodies."""
        return self._solids(self.shape.holes())

    def _solids(self, solids: Sequence[Placed]) -> tuple[Part, ...]:
        own, T = (self.name, self.inside), self.matrix
        return tuple(Body(*own, s.shape, self.placement, frozen(T @ s.matrix)) for s in solids)

    def section(self) -> tuple[Loop, ...]:
        """Return the section by the x-z plane, in that plane; none if it isn't cut."""
        return self.shape.section(self.matrix)

    def from_the_side(self) -> Part:
        """Return the part turned with its ball about z, so that y takes the place of x."""
        (x, y, z), (about_x, about_y, about_z) = self.placement.at, self.placement.rotate
        turned = replace(self.placement, at=(y, -x, z), rotate=(about_x, about_y, about_z - 90.0))
        return replace(self, placement=turned)

    def moments(self) -> Moments:
        """Moments about the ball's centre, unit density."""
        return self.shape.moments().moved(self.matrix)

    def smooth_moments(self) -> Moments:
        """Return moments with an estimate for a smooth surface in place of triangles."""
        return self.moments() + self.shape.missed().moved(self.matrix)

    def moments_by_surface(self) -> Moments:
        """Return the moments by quadrature over the surface: an independent check."""
        return self.shape.moments_by_surface(self.matrix)

    def dimensions(self) -> tuple[Path, ...]:
        """Return the paths of the part's lengths: ("shape", …), then ("at", 0) to ("at", 2)."""
        lengths = (
            path if path[0] in SEVERAL else ("shape", *path) for path in self.shape.lengths()
        )
        return (*lengths, *(("at", axis) for axis in range(3)))

    def velocity(self, path: Path) -> Velocity:
        """Return the velocity of the surface, in the ball's axes, while the length at `path` grows.

        Where growing and shrinking differ (the tip of a full cone, whose `top` can only grow), it
        is one of the two. Raises ValueError as `Shape.velocity` does, and for any other path.
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
    """One of a part's several solids: `T` (4, 4) maps its shape's axes to the ball's."""

    T: Array

    @cached_property
    def matrix(self) -> Array:
        """The homogeneous matrix T."""
        return self.T

    @cached_property
    def _key(self) -> tuple[object, ...]:
        own = self.name, self.inside, self.shape, self.placement, self.through
        return *own, self.T.tobytes()

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Body) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)
