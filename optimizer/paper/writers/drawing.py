"""The moulds of a line-up as sections to be drawn, independent of format; lengths in cm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.parts import Part
from geometry.sections.section import ON_PLANE, Loop
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import listed
from optimizer.scenario.scenario import Scenario
from shared.errors import InputError, Problem


@dataclass(frozen=True)
class PartSection:
    """One part's section: closed lines, none if it isn't cut, and `remarks` on them."""

    name: str
    loops: tuple[Loop, ...]
    remarks: str


@dataclass(frozen=True)
class MouldSection:
    """One mould in section: its parts, the ball's radius (cm), and the notes beside it."""

    name: str
    parts: tuple[PartSection, ...]
    radius: float
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Drawing:
    """All different moulds of a line, drawn in the unit `length`, of `factor` cm.

    A mould that one section doesn't fully describe is also cut by the y-z plane.
    """

    length: str
    factor: float
    moulds: tuple[MouldSection, ...]


def mould_drawing(result: LineupResult) -> Drawing:
    """Return the moulds of a line-up, equal ones once. Raises InputError unless it was found."""
    if not result.accepted:
        what = f"no mould is drawn: the line-up is {result.status}"
        raise InputError([Problem(what, instead="mend that first", file=result.scenario.file)])
    units, moulds = Units.of(result.scenario), dict[tuple[Part, ...], list[WeightResult]]()
    for weight in result.weights:
        moulds.setdefault(weight.ball.map.parts, []).append(weight)
    return Drawing(
        result.scenario.text.units.length,
        units.length.factor,
        tuple(
            _mould(result.scenario, weight_results, plane, seen, units)
            for parts, weight_results in moulds.items()
            for plane, seen in views(parts)
        ),
    )


def views(parts: tuple[Part, ...]) -> Iterator[tuple[str, tuple[Part, ...]]]:
    """Yield each plane that shows more of a ball, and its parts turned to lie in the x-z plane."""
    yield "x-z", parts
    if not all(map(turned, parts)):
        yield "y-z", tuple(part.from_the_side() for part in parts)


def _mould(
    scenario: Scenario,
    weights: Sequence[WeightResult],
    plane: str,
    seen: Sequence[Part],
    units: Units,
) -> MouldSection:
    map_ = weights[0].ball.map
    length = scenario.text.units.length
    names = listed([weight.ball.map.name for weight in weights])
    parts = tuple(_part(part, plane, units) for part in seen)
    notes = (
        scenario.title,
        f"Mould for {names}",
        *(f"{name} = {value:g} {length}" for name, value in scenario.named(map_.label).items()),
        f"Section by the {plane} plane; z runs through the pin, which is at the top",
        "Sections as drawn, no shrinkage allowed for",
        *(f"{part.name}: {part.remarks}" for part in parts),
    )
    return MouldSection(names, parts, map_.radius, notes)


def _part(part: Part, plane: str, units: Units) -> PartSection:
    loops = part.section()
    if not loops:
        return PartSection(part.name, loops, f"not cut by the {plane} plane")
    error = max(loop.error for loop in loops)
    cut = f"{plane} section, not all of its shape"
    kind = "turned about the pin axis" if turned(part) else cut
    within = _within(error, units.length) if error else "exact"
    return PartSection(part.name, loops, f"{kind}; {within}")


def turned(part: Part) -> bool:
    """Whether one section describes the part: it can be turned about the pin axis."""
    A, at = part.matrix[:3, :3], part.matrix[:3, 3]
    upright = not np.any(A[:2, 2]) and not np.any(A[2, :2]) and not np.any(at[:2])
    round_ = abs(np.linalg.norm(A[:, 0]) - np.linalg.norm(A[:, 1])) < ON_PLANE
    return upright and bool(round_) and part.profile is not None


def _within(error: float, length: Unit) -> str:
    """Return the error of chords in words, rounded up."""
    amount = error / length.factor
    step = 10.0 ** math.floor(math.log10(amount))
    return f"chords within {math.ceil(amount / step - 1e-9) * step:.1g} {length.name}"
