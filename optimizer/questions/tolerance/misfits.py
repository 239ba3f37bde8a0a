"""Parts that stick out or overlap where one input is at the end of its spread."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometry.walls.thinnest import Wall, pairs, wall
from optimizer.paper.quantities import Units
from optimizer.scatter.inputs import Input
from optimizer.scatter.line import Line
from optimizer.scatter.model import Model
from optimizer.scenario.checks.spread_checks import SIGMAS
from optimizer.scenario.drawn import mould_walls
from shared.errors import UnbuildableError

SEEN = 1e-4
"""cm: two parts that overlap by less touch."""


@dataclass(frozen=True, eq=False)
class Misfit:
    """The thinnest wall, of less than nothing, with one input alone at its end; a normal at 3 sd.

    `weight` is the name of the weight whose wall that is.
    """

    input: Input
    weight: str
    wall: Wall

    def words(self, units: Units) -> str:
        """Return what is wrong, and what it does to the figures."""
        part, other = self.wall.between
        does = "stick out of" if self.wall.nested else "overlap"
        return (
            f"at the end of the spread of {self.input.name}, {part} may {does} {other} by up to "
            f"{units.length.told(-self.wall.thickness)} at {self.weight}; such balls are counted "
            "as if they could be cast, and their figures aren't exact"
        )


def misfits(line: Line) -> tuple[Misfit, ...]:
    """Return the worst misfit of each input of a line that has one."""
    found = dict[Input, Misfit]()
    for model in line.models:
        for _, input_ in model.placed:
            for each in _walls(model, input_):
                known = found.get(input_)
                least = -SEEN if known is None else known.wall.thickness
                if each.thickness < least - each.error:
                    found[input_] = Misfit(input_, model.ball.map.name, each)
    return tuple(found.values())


def _walls(model: Model, input_: Input) -> Iterator[Wall]:
    """Yield the walls that an input at either end can make less than nothing."""
    end, drawn = min(input_.law.most, SIGMAS * input_.law.sd), model.ball.map.parts
    far = _far(input_, end, model.ball.map.radius)
    near = {own.between for own in mould_walls(drawn) if own.thickness - own.error < far}
    for by in (end, -end):
        try:
            parts = model.parts([(input_, by)])
        except UnbuildableError:
            continue
        moved = {part.name for part, was in zip(parts, drawn, strict=True) if part != was}
        for part, other, nested in pairs(parts):
            both = {part.name, other.name}
            together = input_.kind != "dimension" and both <= moved
            if (part.name, other.name) in near and both & moved and not together:
                yield wall(part, other, nested=nested)


def _far(input_: Input, end: float, radius: float) -> float:
    """Return a bound, cm, on how much thinner an input at its end can make a wall."""
    if input_.kind == "dimension":  # it may be used at many places
        return np.inf
    return end * {"tilt": 2.0 * radius, "diameter": 0.5}.get(input_.kind, 1.0)
