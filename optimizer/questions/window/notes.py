"""What is said below the windows: how they were found, where there are none, what isn't held."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from optimizer.lineup.claims import Kind, is_kind
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, plural
from optimizer.questions.window.reach import Reach
from optimizer.questions.window.window import Window


def notes(window: Window, units: Units, names: Mapping[str, str]) -> Iterator[str]:
    """Yield the notes on the windows, with each weight's name by its label."""
    yield from _how_found(window, units, names)
    yield from _where_not(window, names)
    if any(
        any(is_kind(claim, Kind.NO_DIFFERENTIAL) for claim in makers)
        for reach in (*(weight_window.alone for weight_window in window.weights), window.common)
        for band in reach.bands
        for _, makers in band.edges
    ):
        yield "A window ends where the differential meets zero: no ball has less."
    if across := [who for who, reach in _reaches(window, names)[:-1] if reach.off_pin]:
        yield f"{listed(across)}: counts balls whose low-RG axis is not the pin axis, too."
    for note in dict.fromkeys(
        weight_window.note for weight_window in window.weights if weight_window.note
    ):
        some_names = [
            names[weight_window.map.label]
            for weight_window in window.weights
            if weight_window.note == note
        ]
        yield f"{listed(some_names)}: the rulebook's RG and differential are {note}; not held here."


def _reaches(window: Window, names: Mapping[str, str]) -> list[tuple[str, Reach]]:
    alone = [
        (names[weight_window.map.label], weight_window.alone) for weight_window in window.weights
    ]
    return [*alone, ("the shared window", window.common)]


def _how_found(window: Window, units: Units, names: Mapping[str, str]) -> Iterator[str]:
    """Yield how far the lines are exact, and what isn't proven."""
    reaches = _reaches(window, names)
    every = [reach for _, reach in reaches]
    if exact := [reach.error for reach in every if reach.proven and reach.bands]:
        off = max(exact)
        between = f"off by at most {units.rg.told(off, 3)}" if off > 0.0 else "exact"
        yield (
            "Each weight's corners are measured from their densities; the lines between are "
            f"{between} (where two lines cross at a small angle, the crossing by a little more)."
        )
    if sought := [(who, reach) for who, reach in reaches if reach.bands and not reach.proven]:
        off = max(reach.error for _, reach in sought)
        yield (
            f"Found, not proven: {listed([who for who, _ in sought])}. Every corner is measured "
            "from its densities, but there may be more beyond; the lines between may be off by "
            f"{units.rg.told(off, 3)} (an estimate)."
        )
    if lost := [who for who, reach in reaches if reach.empty and not reach.proven]:
        yield f"Not found, and not proven empty: {listed(lost)}."
    if unseen := [who for who, reach in reaches if not reach.whole and not reach.proven]:
        yield (
            f"Not searched: {listed(unseen)}, some choices of which axis has the low RG, and "
            "of the CG's side."
        )


def _where_not(window: Window, names: Mapping[str, str]) -> Iterator[str]:
    """Yield which windows are none, or no region in one piece."""
    reaches, target = _reaches(window, names), window.scenario.target
    asked = target is not None and target.intermediate is not None
    at = ", at the intermediate differential that is asked for" if asked else ""
    if none := [who for who, reach in reaches[:-1] if reach.empty and reach.proven]:
        yield f"{listed(none)}: no densities meet the class weight and keep every limit{at}."
    if thin := [who for who, reach in reaches[:-1] if reach.bands and reach.area == 0.0]:
        why = at or ", since no more densities are free than it takes"
        yield f"{listed(thin)}: a line or a point{why}."
    for who, reach in reaches:
        if len(reach.bands) > 1:
            yield f"{who}: {plural(len(reach.bands), 'piece')}; the chart shows them all."
