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
"""cm. Diameters of balls: one beyond is a slip of the unit."""


NOTHING: Final = 1e-6
"""cm³. A volume that is none."""
KNOWN: Final = 1e-6
"""Of a part's volume and moments: what they may be off without a word; 2e-5 lb of a ball."""
COARSE: Final = 0.0127
"""cm, 0.005 in. A wall's error beyond it is told."""
FAR: Final = 2.0
"""Of the ball's radius: a part that reaches farther from its centre is drawn in another unit, or
stretched by a slip. Between shapes as wide as that, walls take long."""
STEEP: Final = 0.8
"""A wall whose direction rises more than this (sine) is at the top or the bottom..."""
LEVEL: Final = 0.5
"""...and one whose direction rises less than this is at the side."""


def misfits(
    parts: tuple[Part, ...], number: Mapping[str, int], units: UnitsText, *, at_start: bool = False
) -> Iterator[Mistake]:
    """Yield what doesn't fit in one mould, with amounts in the scenario's unit of length.

    `number` is each part's place in the file. Where a search starts from the mould, parts may
    cross: the walls are rows of the program.
    """
    by_name = {part.name: part for part in parts}
    ball = outermost(parts)
    path = ("parts", number[ball.name])
    if not isinstance(ball.shape, Sphere):
        yield Mistake((*path, "shape"), "is the outermost part, the ball: it must be a sphere")
        return
    if ball.placement != Placement(rotate=ball.placement.rotate):
        what = "is the outermost part, the ball: it must sit at the centre, unstretched"
        yield Mistake(path, what, "leave out at and stretch", shown=False)
        return
    low, high = PLAUSIBLE
    if not low <= ball.shape.diameter <= high:
        what = "is no ball's diameter"
        yield Mistake((*path, "shape", "diameter"), what, "is it in the unit that [units] says?")
        return
    path_of = {part.name: ("parts", number[part.name]) for part in parts}
    mistakes = [mistake for part in parts for mistake in _slight(part, path_of[part.name])]
    if not (mistakes or at_start):
        mistakes = list(_out_of_ball(parts, ball, path_of, units))
    if not mistakes:
        mistakes = [mistake for part in parts for mistake in _empty(part, path_of[part.name])]
    if mistakes:
        yield from mistakes
        return
    activity.at("walls being measured")
    if not at_start:
        yield from _set_in(parts, number)
    for wall in () if at_start else mould_walls(parts):
        if wall.thickness < -TOUCH:
            part, other = (by_name[name] for name in wall.between)
            cut = bool(part.holes or other.holes)
            told = (
                _sticks_out(part, other, wall, units)
                if wall.nested
                else _overlaps(wall, units, cut=cut)
            )
            yield Mistake(("parts", number[part.name]), *told, shown=False)


def _slight(part: Part, path: Path) -> Iterator[Mistake]:
    """Yield the solids of a part that have no volume."""
    activity.at(f'part "{part.name}" being measured')
    what, instead = "has next to no volume", "make it larger, or leave it out"
    if not isinstance(part.shape, Joined):
        if part.moments().volume <= NOTHING:
            yield Mistake((*path, "shape"), what, instead, shown=False)
        return
    solids = [(key, i, one) for key in SEVERAL for i, one in enumerate(getattr(part.shape, key))]
    small = [(key, i) for key, i, one in solids if one.shape.moments().volume <= NOTHING]
    yield from (Mistake((*path, *place), what, instead, shown=False) for place in small)


def _out_of_ball(
    parts: tuple[Part, ...], ball: Part, path_of: Mapping[str, Path], units: UnitsText
) -> Iterator[Mistake]:
    """Yield parts that stick out of the ball so far that nothing more need be asked."""
    axes = np.vstack([np.eye(3), -np.eye(3)])
    far = FAR * float(np.linalg.norm(ball.support_points(axes[:1])))
    for part in parts:
        if part is ball or (isinstance(part.shape, Joined) and not part.shape.bodies()):
            continue
        if np.abs(part.support_points(axes)).max() > far:
            told = _sticks_out(part, ball, thinnest.wall(part, ball, nested=True), units)
            yield Mistake(path_of[part.name], *told, shown=False)


def _empty(part: Part, path: Path) -> Iterator[Mistake]:
    """Yield that nothing is left of a part's solids, or that what is left can't be told."""
    if not isinstance(part.shape, Joined):
        return
    activity.at(f'solids of part "{part.name}" being joined')
    try:
        volume = part.moments().volume
    except InputError as error:
        yield from _untold(error, path)
        return
    if volume <= NOTHING:
        yield Mistake((*path, "minus"), "cuts everything away", "cut less", shown=False)


def _untold(error: InputError, path: Path) -> Iterator[Mistake]:
    """Yield why a part's moments can't be told, with its place."""
    for problem in error.problems:
        yield Mistake(path, f"has {problem.what}", problem.instead, shown=False)


def _set_in(parts: tuple[Part, ...], number: Mapping[str, int]) -> Iterator[Mistake]:
    """Yield parts that don't reach what they are said to go on into, or don't begin outside it."""
    for outer, inner, part, host in through(parts):
        place = ("parts", number[part.name], "inside")
        try:
            shared = common(part, host).moments.volume
        except InputError as error:
            yield from _untold(error, place)
            continue
        if shared <= NOTHING:
            yield Mistake(place, f'doesn\'t reach into "{inner}"', f'leave "{inner}" out')
        elif part.moments().volume - shared <= NOTHING:
            yield Mistake(place, f'lies in "{inner}" alone', f'leave "{outer}" out')


def off_scale(radius: float, target: Target | None) -> Iterator[Mistake]:
    """Yield a low RG that no ball of this `radius` (cm) can have: a slip of the unit."""
    if target is not None and not 0.2 * radius < target.rg.high < radius:
        what = "is no RG of a ball of this size"
        yield Mistake(("target", "rg"), what, "is it in the unit that [units] says?")


def doubts(
    parts: tuple[Part, ...], number: Mapping[str, int], units: UnitsText
) -> Iterator[Mistake]:
    """Yield the walls that may be none, as far as they are known: warnings."""
    for part in parts:
        if isinstance(part.shape, Joined):
            yield from _doubtful(("parts", number[part.name]), part.shape)
    for wall in mould_walls(parts):
        if wall.thickness >= -TOUCH > wall.thickness - wall.error:
            known = f"is known to ± {_amount(wall.error, units)} only: they may cross"
            what = f'has a wall to "{wall.between[1]}" that {known}'
            yield Mistake(("parts", number[wall.between[0]]), what, shown=False)
        elif wall.error > COARSE:
            known = f"may be thinner than told by up to {_amount(wall.error, units)}"
            what = f'has a wall to "{wall.between[1]}" that {known}: many places are almost as thin'
            yield Mistake(("parts", number[wall.between[0]]), what, shown=False)


def remarks(parts: tuple[Part, ...], number: Mapping[str, int]) -> Iterator[Mistake]:
    """Yield what was mended in a file of triangles, or seems odd there: warnings."""
    for part in parts:
        if isinstance(part.shape, Mesh):
            for note in part.shape.file.notes:
                what = f'"{part.shape.file.name}" {note}'
                yield Mistake(("parts", number[part.name], "shape", "file"), what, shown=False)


def _doubtful(path: Path, shape: Joined) -> Iterator[Mistake]:
    """Yield what is odd in a part of several solids, and what its moments may be off."""
    compound = shape.compound
    for i, solid in enumerate(compound.minus):
        if solid in compound.idle:
            yield Mistake((*path, "minus", i), "cuts nothing", shown=False)
    if compound.lumps > 1:
        what = f"is {compound.lumps} pieces that don't touch, poured as one part"
        yield Mistake((*path, "shapes"), what, shown=False)
    if compound.error > KNOWN:
        what = f"has a volume and moments that are known to {compound.error:.1g} of them only"
        yield Mistake(path, what, shown=False)


def _amount(length: float, units: UnitsText) -> str:
    return f"{length / LENGTHS[units.length].size:.3g} {units.length}"


def _sticks_out(part: Part, host: Part, wall: Wall, units: UnitsText) -> tuple[str, str]:
    pairs = zip(part.placement.at, host.placement.at, strict=True)
    x, y, z = (mine - its for mine, its in pairs)
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
    """Return where a wall is, how to make the part smaller there, and which way to move it."""
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


def _overlaps(wall: Wall, units: UnitsText, *, cut: bool) -> tuple[str, str]:
    what = f'overlaps "{wall.between[1]}" by {_amount(-wall.thickness, units)}'
    if cut:
        what = f"{what}, before anything is cut from them"
    return what, "move them apart, make one smaller, or put one inside the other"
