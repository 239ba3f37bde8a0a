"""What every shape can do: the contract that tests walk over the union of all shapes."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Self

import numpy as np
from pydantic import ValidationInfo
from pydantic_core import PydanticCustomError

from geometry.moments import Moments
from geometry.outline import Profile
from geometry.surface import Surface
from shared.arrays import Array
from shared.models import Reading, StrictModel


class Shape(StrictModel, ABC):
    """A solid in its own axes; lengths in cm.

    A subclass adds `kind` and its dimensions as fields: they are the scenario's grammar too.
    """

    @property
    def convex(self) -> bool:
        """Whether the solid is convex."""
        return True

    @abstractmethod
    def moments(self) -> Moments:
        """Exact moments about the shape's own origin."""

    @abstractmethod
    def support_points(self, directions: Array) -> Array:
        """For unit `directions` (k, 3): the points (k, 3) of the shape farthest along each.

        Of the convex hull, when the shape isn't convex. The support function is
        h(n) = n · support_point(n), and its gradient is the support point.
        """

    def flats(self) -> Array:
        """Return the unit normals (k, 3) of the flat faces, where a least wall likes to sit."""
        return np.empty((0, 3))

    def profile(self) -> Profile | None:
        """Return the outline in the (r, z) half-plane of a shape turned about z, else None."""
        return None

    @abstractmethod
    def surface(self) -> Surface:
        """Return the surface in patches, for walls of solids that aren't convex."""

    @classmethod
    @abstractmethod
    def example(cls) -> Self:
        """Return a shape of ordinary proportions, for tests and documentation."""


class TurnedShape(Shape):
    """A solid turned about z: its profile says where its surface is."""

    @abstractmethod
    def profile(self) -> Profile:
        """Return the outline in the (r, z) half-plane."""

    def surface(self) -> Surface:
        """Return the profile's surface edges, turned."""
        return Surface.turned(self.profile())

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 3) farthest along unit `directions` (k, 3), of the convex hull."""
        across = np.hypot(directions[:, 0], directions[:, 1])
        reached = self.profile().support_points(np.stack([across, directions[:, 2]], axis=1))
        outward = directions[:, :2] / np.where(across > 0, across, 1.0)[:, None]
        outward[across == 0] = [1.0, 0.0]  # straight along the axis: any azimuth is as good
        return np.column_stack([reached[:, :1] * outward, reached[:, 1]])

    def flats(self) -> Array:
        """Return the unit normals (k, 3) of the flat faces, which are square to the axis."""
        normals = self.profile().normals()
        level = normals[np.abs(normals[:, 0]) < 1e-12]
        return np.array([[0.0, 0.0, up] for up in np.unique(np.sign(level[:, 1]))]).reshape(-1, 3)


def refusal(what: str, instead: str) -> PydanticCustomError:
    """Return the error for a shape that can't be: what is wrong, and what would be right."""
    return PydanticCustomError("shape", "{what}; {instead}", {"what": what, "instead": instead})


def as_written(length: float, info: ValidationInfo) -> str:
    """Return a length in cm as the text that is being read would write it."""
    reading = info.context if isinstance(info.context, Reading) else Reading()
    return f"{length / reading.length:.6g}"
