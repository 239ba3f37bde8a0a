"""The contract of all shapes, which tests check for each of them."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Any, ClassVar, Protocol, Self

import numpy as np
from pydantic import ValidationInfo
from pydantic_core import PydanticCustomError

from geometry.moments import Moments
from geometry.outlines.outline import Outline
from geometry.outlines.profile import Profile
from geometry.sections.section import Loop, turned_section
from geometry.surfaces.surface import Surface, flux_moments
from geometry.surfaces.velocity import Path, Velocity, affine, turning
from shared.arrays import Array
from shared.letters import safe
from shared.models import Reading, StrictModel

STEP = 1e-30
"""cm. The step εi by which derivatives are taken."""
STEEPEST = 1e6
"""A faster motion, per cm of a length, means that there is no derivative."""


class Placed(Protocol):
    """A shape, and the homogeneous matrix (4, 4) from its axes to others."""

    @property
    def shape(self) -> Shape:
        """The shape."""

    @property
    def matrix(self) -> Array:
        """The homogeneous matrix."""


class Shape(StrictModel, ABC):
    """A solid in its own axes; lengths in cm.

    A subclass adds `kind` and its dimensions as fields, which are also the scenario's grammar.
    """

    EXAMPLE: ClassVar[Mapping[str, Any]]
    """The fields of `example`."""

    @property
    def convex(self) -> bool:
        """Whether the solid is convex."""
        return True

    @property
    def faceted(self) -> bool:
        """Whether it has so many faces that a wall search must cover every direction."""
        return False

    @property
    def skin(self) -> float:
        """How far the surface used for walls and sections may be from the solid's own, cm."""
        return 0.0

    @abstractmethod
    def moments(self) -> Moments:
        """Exact moments about the shape's own origin."""

    def missed(self) -> Moments:
        """Estimated moments that triangles miss of a smooth solid: none for other shapes."""
        return Moments.zero()

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:  # noqa: ARG002 - pydantic's signature
        """Return the shape with the fields of `update`, validated and redrawn."""
        return self.model_validate({**dict(self), **(update or {})})

    def scale(self) -> Array:
        """Return the factors (3,) along x, y and z by which the shape stretches its unit body."""
        return np.ones(3)

    def lengths(self) -> tuple[Path, ...]:
        """Return the paths of the shape's lengths, in the order of its fields."""
        paths: list[Path] = []
        for name, value in self:
            match value:
                case float():
                    paths.append((name,))
                case ((_, _, _), *_):  # vertices: a bulge is not a length
                    paths += [(name, i, k) for i in range(len(value)) for k in (0, 1)]
                case (float(), *_):
                    paths += [(name, i) for i in range(len(value))]
        return tuple(paths)

    def velocity(self, path: Path) -> Velocity:
        """Return the velocity of the surface while the length at `path` grows.

        Raises ValueError for any other path, and if there is no derivative, as for a dome that is a
        whole ball and has no rim to move.
        """
        G = np.zeros((4, 4))
        G[:3, :3] = np.diag(self._rates(lambda shape: shape.scale(), path) / self.scale())
        return affine(G, self.moments().J)

    def _rates(self, drawn: Callable[[Any], Array], path: Path) -> Array:
        """Return the derivative of the array `drawn` in the length at `path`.

        By a complex step: f(x + εi) = f(x) + εi f'(x), where nothing cancels, so ε can be as small
        as one likes (Squire & Trapp, SIAM Review 40 (1998) 110; from memory).
        """
        name = type(self).__name__.lower()
        if path not in self.lengths():
            raise ValueError(f"a {name} has no length {path}")
        rates = np.imag(drawn(type(self).model_construct(**_stepped(dict(self), path)))) / STEP
        if np.any(np.abs(rates) > STEEPEST):
            raise ValueError(f"a {name} of these dimensions has no derivative in {path}")
        return np.asarray(rates)

    @abstractmethod
    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 3) farthest along unit `directions` (k, 3), of the convex hull.

        The support function is h(n) = n · support_point(n); its gradient is the support point.
        """

    def flats(self) -> Array:
        """Return the unit normals (k, 3) of the flat faces, often the direction of a least wall."""
        return np.empty((0, 3))

    def profile(self) -> Profile | None:
        """Return the outline in the (r, z) half-plane of a shape turned about z, else None."""
        return None

    def bodies(self) -> tuple[Placed, ...]:
        """Return the solids that form the shape, in its axes; none if it is just one."""
        return ()

    def holes(self) -> tuple[Placed, ...]:
        """Return the solids that are cut from its bodies."""
        return ()

    def moments_by_surface(self, T: Array) -> Moments:
        """Return moments after the affine map `T` (4, 4) by quadrature over the surface alone."""
        return flux_moments(self.surface().moved(T))

    @abstractmethod
    def surface(self) -> Surface:
        """Return the surface in patches, for walls of solids that aren't convex."""

    def clearance(self, points: Array) -> Array:
        """Return lower bounds (n,) on the surface's distance from `points` (n, 3); 0: unknown."""
        return np.zeros(len(points))

    @abstractmethod
    def section(self, T: Array) -> tuple[Loop, ...]:
        """Return the section by the plane y = 0 of the shape after the affine map `T` (4, 4)."""

    @classmethod
    def example(cls) -> Self:
        """Return a shape of ordinary proportions, for tests and documentation."""
        return cls.model_validate(cls.EXAMPLE)


class TurnedShape(Shape):
    """A solid turned about z, whose profile gives its surface."""

    @abstractmethod
    def vertices(self) -> Array:
        """Return the outline (n, 3) of the unit body: r, z and the bulge of the next edge."""

    def velocity(self, path: Path) -> Velocity:
        """Return the velocity of the surface while the length at `path` grows."""
        rates = self._rates(lambda shape: shape.vertices(), path)
        return turning(self.vertices(), rates) if np.any(rates) else super().velocity(path)

    @cached_property
    def _drawn(self) -> Profile:
        across, _, along = self.scale()
        return Profile(Outline(self.vertices()), (across, along))

    def profile(self) -> Profile:
        """Return the outline in the (r, z) half-plane."""
        return self._drawn

    def surface(self) -> Surface:
        """Return the profile's surface edges, turned."""
        return Surface.turned(self.profile())

    def clearance(self, points: Array) -> Array:
        """Return the distance (n,) of points (n, 3) from the surface, or less if stretched."""
        r = np.hypot(points[:, 0], points[:, 1])
        return self.profile().clearance(np.column_stack([r, points[:, 2]]))

    def section(self, T: Array) -> tuple[Loop, ...]:
        """Return the section by the plane y = 0: exact along and perpendicular to the axis."""
        return turned_section(self.profile(), T)

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 3) farthest along unit `directions` (k, 3), of the convex hull."""
        across = np.hypot(directions[:, 0], directions[:, 1])
        reached = self.profile().support_points(np.stack([across, directions[:, 2]], axis=1))
        outward = directions[:, :2] / np.where(across > 0, across, 1.0)[:, None]
        outward[across == 0] = [1.0, 0.0]  # along the axis any azimuth will do
        return np.column_stack([reached[:, :1] * outward, reached[:, 1]])

    def flats(self) -> Array:
        """Return the unit normals (k, 3) of the flat faces, perpendicular to the axis."""
        normals = self.profile().normals()
        level = normals[np.abs(normals[:, 0]) < 1e-12]
        return np.array([[0.0, 0.0, up] for up in np.unique(np.sign(level[:, 1]))]).reshape(-1, 3)


def _stepped(value: Any, path: Path) -> Any:
    """Return `value`, nested fields and tuples, with a complex step at `path`."""
    if not path:
        return value + 1j * STEP
    if isinstance(value, dict):
        return {key: _stepped(v, path[1:]) if key == path[0] else v for key, v in value.items()}
    return tuple(_stepped(v, path[1:]) if i == path[0] else v for i, v in enumerate(value))


def refusal(what: str, instead: str) -> PydanticCustomError:
    """Return the error of an impossible shape: what is wrong, and what would be right."""
    words = {"what": safe(what), "instead": safe(instead)}  # names from damaged files may be in it
    return PydanticCustomError("shape", "{what}; {instead}", words)


def as_written(length: float, info: ValidationInfo) -> str:
    """Return a length (cm) as written in the unit of the text that is being read."""
    return f"{length / Reading.of(info).length:.6g}"
