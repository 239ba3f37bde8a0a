"""What is said below the windows: how they were found, where there are none, what isn't held."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from optimizer.lineup.claims import Kind, is_kind
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, plural
from optimizer.questions.window.reach import Reach
from optimizer.questions.window.window import Window


def notes(found: Window, units: Units, names: Mapping[str, str]) -> Iterator[str]:
    """Yield the notes on the windows, with each weight's name by its label."""
    yield from _how_found(found, units, names)
    yield from _where_not(found, names)
    if any(
        any(is_kind(claim, Kind.NO_DIFFERENTIAL) for claim in makers)
        for some in (*(one.alone for one in found.weights), found.common)
        for band in some.bands
        for _, makers in band.edges
    ):
        yield "A window ends where the differential meets zero: no ball has less."
    if across := [who for who, some in _reaches(found, names)[:-1] if some.off_pin]:
        yield f"{listed(across)}: counts balls whose low-RG axis is not the pin axis, too."
    for note in dict.fromkeys(one.note for one in found.weights if one.note):
        some_names = [names[one.map.label] for one in found.weights if one.note == note]
        yield f"{listed(some_names)}: the rulebook's RG and differential are {note}; not held here."


def _reaches(found: Window, names: Mapping[str, str]) -> list[tuple[str, Reach]]:
    alone = [(names[one.map.label], one.alone) for one in found.weights]
    return [*alone, ("the shared window", found.common)]


def _how_found(found: Window, units: Units, names: Mapping[str, str]) -> Iterator[str]:
    """Yield how far the lines are exact, and what isn't proven."""
    reaches = _reaches(found, names)
    every = [some for _, some in reaches]
    if exact := [some.error for some in every if some.proven and some.bands]:
        off = max(exact)
        between = f"off by at most {units.rg.told(off, 3)}" if off > 0.0 else "exact"
        yield (
            "Each weight's corners are measured from their densities; the lines between are "
            f"{between} (where two lines cross at a small angle, the crossing by a little more)."
        )
    if sought := [(who, some) for who, some in reaches if some.bands and not some.proven]:
        off = max(some.error for _, some in sought)
        yield (
            f"Found, not proven: {listed([who for who, _ in sought])}. Every corner is measured "
            "from its densities, but there may be more beyond; the lines between may be off by "
            f"{units.rg.told(off, 3)} (an estimate)."
        )
    if lost := [who for who, some in reaches if some.empty and not some.proven]:
        yield f"Not found, and not proven empty: {listed(lost)}."
    if unseen := [who for who, some in reaches if not some.whole and not some.proven]:
        yield (
            f"Not searched: {listed(unseen)}, some choices of which axis has the low RG, and "
            "of the CG's side."
        )


def _where_not(found: Window, names: Mapping[str, str]) -> Iterator[str]:
    """Yield which windows are none, or no region in one piece."""
    reaches, target = _reaches(found, names), found.scenario.target
    asked = target is not None and target.intermediate is not None
    at = ", at the intermediate differential that is asked for" if asked else ""
    if none := [who for who, some in reaches[:-1] if some.empty and some.proven]:
        yield f"{listed(none)}: no densities meet the class weight and keep every limit{at}."
    if thin := [who for who, some in reaches[:-1] if some.bands and some.area == 0.0]:
        why = at or ", since no more densities are free than it takes"
        yield f"{listed(thin)}: a line or a point{why}."
    for who, some in reaches:
        if len(some.bands) > 1:
            yield f"{who}: {plural(len(some.bands), 'piece')}; the chart shows them all."
