"""Whether the parts of a mould fit: the ball is a ball, nothing sticks out, nothing overlaps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np

from geometry.nesting import outermost
from geometry.parts import SEVERAL, Part
from geometry.placement import Placement
from geometry.regions import through
from geometry.shapes.mesh import Mesh
from geometry.shapes.sphere import Sphere
from geometry.solids.common import common
from geometry.solids.joined import Joined
from geometry.walls import thinnest
from geometry.walls.thinnest import Wall
from optimizer.ball.figures import CG_OFFSET, LOW_RG
from optimizer.ball.targets import Target
from optimizer.scenario.checks.mistakes import Mistake
from optimizer.scenario.drawn import mould_walls
from optimizer.scenario.text.scenario_text import UnitsText
from shared import activity
from shared.errors import InputError
from shared.models import Path
from shared.tolerances import TOUCH
from shared.units import LENGTHS

PLAUSIBLE: Final = (10.0, 50.0)
"""cm. Diameters of balls: any other has the wrong unit."""
NOTHING: Final = 1e-6
"""cm³. A smaller volume counts as none."""
KNOWN: Final = 1e-6
"""Relative error of a part's volume and moments that needs no warning; 2e-5 lb of a ball."""
COARSE: Final = 0.0127
"""cm, 0.005 in. A wall with a larger error gets a warning."""
FAR: Final = 2.0
"""Of the ball's radius: a part that reaches farther has the wrong unit or stretch. Walls between
shapes so wide take long."""
STEEP: Final = 0.8
"""A wall whose direction rises by more than this (sine) is at the top or the bottom..."""
LEVEL: Final = 0.5
"""...and one that rises by less than this is at the side."""


def misfits(
    parts: tuple[Part, ...], number: Mapping[str, int], units: UnitsText, *, at_start: bool = False
) -> Iterator[Mistake]:
    """Yield what doesn't fit in one mould, with amounts in the scenario's unit of length.

    `number` is each part's index in the file. If the mould is the start of a search (`at_start`),
    parts may cross: the walls are rows of the program.
    """
    by_name = {part.name: part for part in parts}
    path_of = {part.name: ("parts", number[part.name]) for part in parts}
    ball = outermost(parts)
    path = path_of[ball.name]
    if not isinstance(ball.shape, Sphere):
        yield Mistake((*path, "shape"), "is the outermost part, the ball: it must be a sphere")
        return
    if ball.placement != Placement(rotate=ball.placement.rotate):
        what = "is the outermost part, the ball: it must sit at the centre, unstretched"
        yield Mistake(path, what, "leave out at and stretch", shown=False)
        return
    low, high = PLAUSIBLE
    if not low <= ball.shape.diameter <= high:
        what = "is not a ball's diameter"
        yield Mistake((*path, "shape", "diameter"), what, "is it in the unit given in [units]?")
        return
    mistakes = [mistake for part in parts for mistake in _slight(part, path_of[part.name])]
    if not (mistakes or at_start):
        mistakes = list(_out_of_ball(parts, ball, path_of, units))
    if not mistakes:
        mistakes = [mistake for part in parts for mistake in _empty(part, path_of[part.name])]
    if mistakes:
        yield from mistakes
        return
    activity.at("walls being measured")
    if at_start:
        return
    yield from _set_in(parts, path_of)
    for wall in mould_walls(parts):
        if wall.thickness < -TOUCH:
            part, other = (by_name[name] for name in wall.between)
            words = _sticks_out if wall.nested else _overlaps
            yield Mistake(path_of[part.name], *words(part, other, wall, units), shown=False)


def _slight(part: Part, path: Path) -> Iterator[Mistake]:
    """Yield the solids of a part that have no volume."""
    activity.at(f'part "{part.name}" being measured')
    what, instead = "has next to no volume", "make it larger, or leave it out"
    if not isinstance(part.shape, Joined):
        if part.moments().volume <= NOTHING:
            yield Mistake((*path, "shape"), what, instead, shown=False)
        return
    for key in SEVERAL:
        for i, solid in enumerate(getattr(part.shape, key)):
            if solid.shape.moments().volume <= NOTHING:
                yield Mistake((*path, key, i), what, instead, shown=False)


def _out_of_ball(
    parts: tuple[Part, ...], ball: Part, path_of: Mapping[str, Path], units: UnitsText
) -> Iterator[Mistake]:
    """Yield parts that stick out of the ball so far that their walls need not be measured."""
    axes = np.vstack([np.eye(3), -np.eye(3)])
    far = FAR * float(np.linalg.norm(ball.support_points(axes[:1])))
    for part in parts:
        if part is ball or (isinstance(part.shape, Joined) and not part.shape.bodies()):
            continue
        if np.abs(part.support_points(axes)).max() > far:
            words = _sticks_out(part, ball, thinnest.wall(part, ball, nested=True), units)
            yield Mistake(path_of[part.name], *words, shown=False)


def _empty(part: Part, path: Path) -> Iterator[Mistake]:
    """Yield that nothing is left of a part's solids, or that they can't be measured."""
    if not isinstance(part.shape, Joined):
        return
    activity.at(f'solids of part "{part.name}" being joined')
    try:
        volume = part.moments().volume
    except InputError as error:
        yield from _unmeasured(error, path)
        return
    if volume <= NOTHING:
        yield Mistake((*path, "minus"), "cuts everything away", "cut less", shown=False)


def _unmeasured(error: InputError, path: Path) -> Iterator[Mistake]:
    """Yield why a part's moments can't be measured, with its place."""
    for problem in error.problems:
        yield Mistake(path, f"has {problem.what}", problem.instead, shown=False)


def _set_in(parts: tuple[Part, ...], path_of: Mapping[str, Path]) -> Iterator[Mistake]:
    """Yield parts that don't reach into an inner host of theirs, or lie wholly in it."""
    for outer, inner, part, host in through(parts):
        place = (*path_of[part.name], "inside")
        try:
            shared = common(part, host).moments.volume
        except InputError as error:
            yield from _unmeasured(error, place)
            continue
        if shared <= NOTHING:
            yield Mistake(place, f'doesn\'t reach into "{inner}"', f'leave "{inner}" out')
        elif part.moments().volume - shared <= NOTHING:
            yield Mistake(place, f'lies entirely in "{inner}"', f'leave "{outer}" out')


def off_scale(radius: float, target: Target) -> Iterator[Mistake]:
    """Yield target figures that no ball of this `radius` (cm) can have: their unit is wrong."""
    instead = "is it in the unit given in [units]?"
    if target and not 0.2 * radius < target[LOW_RG].high < radius:
        yield Mistake(("target", "rg"), "can't be the RG of a ball of this size", instead)
    if CG_OFFSET in target and target[CG_OFFSET].low >= radius:
        what = "can't be the CG offset of a ball of this size"
        yield Mistake(("target", "cg_offset"), what, instead)


def doubts(
    parts: tuple[Part, ...], number: Mapping[str, int], units: UnitsText
) -> Iterator[Mistake]:
    """Yield walls that may not exist, given their errors, and other doubts: warnings."""
    for part in parts:
        if isinstance(part.shape, Joined):
            yield from _doubtful(("parts", number[part.name]), part.shape)
    for wall in mould_walls(parts):
        error = _amount(wall.error, units)
        if wall.thickness >= -TOUCH > wall.thickness - wall.error:
            doubt = f"is known only to ± {error}: they may cross"
        elif wall.error > COARSE:
            doubt = f"may be up to {error} thinner than stated: many places are almost as thin"
        else:
            continue
        what = f'has a wall to "{wall.between[1]}" that {doubt}'
        yield Mistake(("parts", number[wall.between[0]]), what, shown=False)


def remarks(parts: tuple[Part, ...], number: Mapping[str, int]) -> Iterator[Mistake]:
    """Yield what was repaired in a file of triangles, or seems odd there: warnings."""
    for part in parts:
        if isinstance(part.shape, Mesh):
            for note in part.shape.file.notes:
                what = f'"{part.shape.file.name}" {note}'
                yield Mistake(("parts", number[part.name], "shape", "file"), what, shown=False)


def _doubtful(path: Path, shape: Joined) -> Iterator[Mistake]:
    """Yield what is odd in a part of several solids, and an error of its moments."""
    compound = shape.compound
    for i, solid in enumerate(compound.minus):
        if solid in compound.idle:
            yield Mistake((*path, "minus", i), "cuts nothing", shown=False)
    if compound.lumps > 1:
        what = f"is {compound.lumps} pieces that don't touch, poured as one part"
        yield Mistake((*path, "shapes"), what, shown=False)
    if compound.error > KNOWN:
        what = f"has a volume and moments with a relative error of up to {compound.error:.1g}"
        yield Mistake(path, what, shown=False)


def _amount(length: float, units: UnitsText) -> str:
    return f"{length / LENGTHS[units.length].size:.3g} {units.length}"


def _sticks_out(part: Part, host: Part, wall: Wall, units: UnitsText) -> tuple[str, str]:
    x, y, z = np.subtract(part.placement.at, host.placement.at).tolist()
    where, smaller, way = _side(wall, coaxial=x == y == 0.0)
    if x == y == z == 0.0:
        way = ""
        if isinstance(part.shape, Sphere) and isinstance(host.shape, Sphere):
            where, smaller = "all round", "smaller"
    what = f'sticks out of "{host.name}" by {_amount(-wall.thickness, units)} {where}'
    if part.holes or host.holes or len(host.bodies) > 1:
        what = f"{what}, of its solids before they are joined and cut"
    return what, f"make it {smaller}, or move it {way}" if way else f"make it {smaller}"


def _side(wall: Wall, *, coaxial: bool) -> tuple[str, str, str]:
    """Return where a wall is, how to shrink the part there, and which way to move it."""
    x, y, z = wall.direction
    back = "up" if z < 0 else "down"
    if abs(z) > STEEP:
        return "at the top" if z > 0 else "at the bottom", "shorter", back
    if abs(z) > LEVEL:
        return f"round its {'upper' if z > 0 else 'lower'} edge", "smaller", back
    if coaxial:
        return "at the side", "narrower", back
    axis, component = ("x", x) if abs(x) >= abs(y) else ("y", y)
    sign, back = ("+", "−") if component > 0 else ("−", "+")
    return f"at the side, toward {sign}{axis}", "narrower", f"toward {back}{axis}"


def _overlaps(part: Part, other: Part, wall: Wall, units: UnitsText) -> tuple[str, str]:
    what = f'overlaps "{other.name}" by {_amount(-wall.thickness, units)}'
    if part.holes or other.holes:
        what = f"{what}, before anything is cut from them"
    return what, "move them apart, make one smaller, or put one inside the other"
