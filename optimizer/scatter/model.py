"""One weight's ball as a function of what varies.

The moments are linear in the densities. In each length and angle they are taken to second order,
from exact moments of the mould displaced by it either way; what that leaves
out is told by balls that are built exactly (`worst.missed`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.displaced import Parts, off_centre, shifted, tilted, turned
from geometry.many_balls import ManyBalls, rows_of
from geometry.mass_properties import MASS_SLOPE
from optimizer.ball.weight_class import Ball
from optimizer.scatter.inputs import Input
from optimizer.scatter.room import no_room
from optimizer.scenario import Scenario
from optimizer.scenario.drawn import region_moments
from optimizer.scenario.moulds import redrawn
from shared.arrays import Array, frozen
from shared.errors import UnbuildableError

FIGURES = (
    "weight",
    "low RG",
    "intermediate RG",
    "high RG",
    "differential",
    "intermediate differential",
    "top weight",
    "CG offset",
    "axis tilt",
)
"""What is told of a ball: g, cm, cm, cm, cm, cm, g, cm, rad."""
REACH = 2.0
"""Standard deviations to either side, or the end: where the exact moments are taken."""
LEAST_STEP = 1e-6
"""cm or rad: a smaller step has no square that rounding leaves."""
CENTRED = 1e-9
"""cm. A CG nearer to the centre lies in no direction from it."""
NOTHING = 1e-13
"""Of a ball's moments: what rounding leaves of a change that isn't there."""


@dataclass(frozen=True, eq=False)
class Model:
    """The balls of one weight: its nominal `ball`, its own inputs and their sources' numbers.

    The sources' deviations come as columns (k, d) of the whole line.
    """

    scenario: Scenario
    ball: Ball
    inputs: tuple[Input, ...]
    columns: tuple[int, ...]

    @property
    def label(self) -> str:
        """The label of the weight."""
        return self.ball.map.label

    @cached_property
    def _poured(self) -> list[tuple[int, int]]:
        """The column and the part's number of each input of a density."""
        return [
            (column, self.ball.map.places[input_.of])
            for input_, column in zip(self.inputs, self.columns, strict=True)
            if input_.kind in ("density", "batch")
        ]

    @cached_property
    def placed(self) -> list[tuple[int, Input]]:
        """The column of each input of the mould or of the turning."""
        return [
            (column, input_)
            for input_, column in zip(self.inputs, self.columns, strict=True)
            if input_.kind not in ("density", "batch", "scale")
        ]

    @cached_property
    def _bent(self) -> tuple[Array, Array]:
        """First and second coefficients (m, n, 10) of the moments in each length or angle."""
        base = rows_of(self.ball.map.moments)
        first, second = np.zeros((2, len(self.placed), *base.shape))
        for k, (_, input_) in enumerate(self.placed):
            step = max(min(REACH * input_.law.sd, input_.law.most), LEAST_STEP)
            more, less = (self._displaced(input_, by) for by in (step, -step))
            first[k] = (more - less) / (2.0 * step)
            second[k] = (more + less - 2.0 * base) / (2.0 * step**2)
        return frozen(first), frozen(second)

    def _displaced(self, input_: Input, by: float) -> Array:
        """Return the moments (n, 10) with one input off. Raises InputError where there are none."""
        try:
            rows = rows_of(region_moments(self.parts([(input_, by)])))
        except UnbuildableError:
            raise no_room(self.scenario, self.label, input_) from None
        if np.any(rows[:, 9] <= 0.0):
            raise no_room(self.scenario, self.label, input_)
        return rows

    @cached_property
    def _bends(self) -> list[tuple[tuple[list[int], Array], ...]]:
        """For each length and angle and each order: the moments that it changes, and how (…, n).

        A moment that it changes by less than NOTHING of the ball's, far off, is left as it is.
        """
        size = np.abs(rows_of(self.ball.map.moments)).sum(axis=0)
        size = size[9] * self.ball.map.radius ** np.array([2, 2, 2, 1, 2, 2, 1, 2, 1, 0])
        bends = []
        for (_, input_), *orders in zip(self.placed, *self._bent, strict=True):
            far = 6.0 * input_.law.sd
            changed = [
                np.flatnonzero(np.abs(order).sum(axis=0) * far**power > NOTHING * size).tolist()
                for power, order in enumerate(orders, start=1)
            ]
            bends.append(
                tuple((at, order.T[at]) for at, order in zip(changed, orders, strict=True))
            )
        return bends

    def parts(self, moves: Sequence[tuple[Input, float]]) -> Parts:
        """Return the mould with inputs off by these amounts. Raises UnbuildableError."""
        dimensions = {str(input_.of): by for input_, by in moves if input_.kind == "dimension"}
        parts = self.ball.map.parts
        if dimensions:
            parts = redrawn(self.scenario, self.label, dimensions)
        for input_, by in moves:
            of, axis = str(input_.of), input_.axis or 0
            if input_.kind == "position":
                parts = shifted(parts, of, axis, by)
            elif input_.kind == "tilt":
                parts = tilted(parts, of, axis, by)
            elif input_.kind == "centre":
                parts = off_centre(parts, axis, by)
            elif input_.kind == "diameter":
                parts = turned(parts, by)
        return parts

    def densities(self, deviations: Array) -> Array:
        """Return the densities (k, n) at deviations (k, d)."""
        every = np.repeat(self.ball.densities[:, None], len(deviations), axis=1)
        for column, place in self._poured:
            every[place] += deviations[:, column]
        return every.T

    def piece(self, deviations: Array, volumes: Array) -> Array:
        """Return what a piece weighs (k,), g, that holds `volumes` (n,) of the regions as drawn.

        A mould's dimensions change its volumes; what is turned off later doesn't.
        """
        every = np.repeat(volumes[None, :], len(deviations), axis=0)
        for (column, input_), linear, square in zip(self.placed, *self._bent, strict=True):
            if input_.kind == "dimension":
                by = deviations[:, column, None]
                every += by * (linear[:, 9] + by * square[:, 9]) * (volumes > 0.0)
        return np.asarray(np.einsum("kn,kn->k", self.densities(deviations), every))

    def weighed(self, deviations: Array, part: str) -> Array:
        """Return by how much a casting is denser than nominal (k,), its volume taken as drawn."""
        place = self.ball.map.places[part]
        volumes = np.zeros(len(self.ball.densities))
        volumes[place] = self.ball.map.volumes[place]
        own = self.piece(deviations, volumes) / volumes[place]
        return np.asarray(own - self.ball.densities[place])

    def balls(self, deviations: Array, densities: Array | None = None) -> ManyBalls:
        """Return the balls at deviations (k, d); `densities` (k, n) if they are known."""
        rho = (self.densities(deviations) if densities is None else densities).T
        columns = rows_of(self.ball.map.moments).T @ rho
        for (source, _), orders in zip(self.placed, self._bends, strict=True):
            by = power = deviations[:, source]
            for places, coefficients in orders:
                for place, moment in zip(places, coefficients @ rho, strict=True):
                    column = columns[place]
                    column += np.multiply(moment, power, out=moment)
                power = power * by
        return ManyBalls(columns.T, self.ball.map.about)

    def figures(self, deviations: Array, balls: ManyBalls) -> dict[str, Array]:
        """Return each of the FIGURES (k,) of balls at these deviations; the weight as weighed."""
        low, between, high = balls.radii
        weight = balls.mass
        for input_, column in zip(self.inputs, self.columns, strict=True):
            if input_.kind == "scale":
                weight = weight + deviations[:, column]
        values = (
            *(weight, low, between, high, high - low, high - between),
            *(balls.first / self.ball.map.arm, balls.offset, balls.tilt),
        )
        return dict(zip(FIGURES, values, strict=True))

    @cached_property
    def nominal(self) -> dict[str, float]:
        """Each of the FIGURES of the nominal ball."""
        none = np.zeros((1, max(self.columns, default=-1) + 1))
        figures = self.figures(none, self.balls(none))
        return {name: float(values[0]) for name, values in figures.items()}

    @cached_property
    def slopes(self) -> Mapping[str, Array]:
        """The derivative of each of the FIGURES in each of the own inputs, in their order.

        Zero where a figure has a kink: at a CG in the centre, at an axis along the pin.
        """
        ball, radii = self.ball, self.ball.radii
        properties, mass, none = ball.properties, ball.properties.mass, np.zeros((4, 4))
        central = properties.cg_offset <= CENTRED
        rgs = [
            (radii.slopes[k] - float(radii.radii[k]) ** 2 * MASS_SLOPE)
            / (2.0 * float(radii.radii[k]) * mass)
            for k in range(3)
        ]
        matrices = (
            *(MASS_SLOPE, *rgs, rgs[2] - rgs[0], rgs[2] - rgs[1]),
            none if central else properties.first_moment_slope / ball.map.arm,
            none if central else properties.cg_offset_slope,
            none if radii.pin_tilt is None else radii.pin_tilt_slope(mass),
        )
        moved = self._moved
        slopes = {
            name: np.array([float(np.vdot(matrix, by)) for by in moved])
            for name, matrix in zip(FIGURES, matrices, strict=True)
        }
        slopes["weight"] += [float(input_.kind == "scale") for input_ in self.inputs]
        return slopes

    @cached_property
    def _moved(self) -> list[Array]:
        """The derivative (4, 4) of the mass moments in each of the own inputs."""
        placed = {
            column: linear for (column, _), linear in zip(self.placed, self._bent[0], strict=True)
        }
        poured = dict(self._poured)
        moved = []
        for column in self.columns:
            if column in poured:
                moved.append(self.ball.map.moments[poured[column]])
            elif column in placed:
                J = np.zeros((4, 4))
                J[np.triu_indices(4)] = self.ball.densities @ placed[column]
                moved.append(J + np.triu(J, 1).T)
            else:
                moved.append(np.zeros((4, 4)))
        return moved
