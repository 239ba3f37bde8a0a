"""The notes below the windows: how they were found, which are empty, which rules don't apply."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.lineup.claims import Kind, is_kind
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, plural
from optimizer.questions.window.reach import Reach, figures_held, flat
from optimizer.questions.window.window import Window


def notes(window: Window) -> Iterator[str]:
    """Yield the notes on the windows."""
    yield from _how_found(window)
    yield from _empty(window)
    if any(
        is_kind(claim, Kind.NO_DIFFERENTIAL)
        for _, reach in _reaches(window)
        for band in reach.bands
        for _, makers in band.edges
        for claim in makers
    ):
        yield "A window ends where the differential meets zero: no ball has less."
    if across := [who for who, reach in _reaches(window)[:-1] if reach.off_pin]:
        yield f"{listed(across)}: counts balls whose low-RG axis is not the pin axis, too."
    by_note: dict[str, list[str]] = {}
    for weight in window.weights:
        if weight.note:
            by_note.setdefault(weight.note, []).append(weight.map.name)
    for note, who in by_note.items():
        yield f"{listed(who)}: the rulebook's RG and differential are {note}; not held here."


def _reaches(window: Window) -> list[tuple[str, Reach]]:
    """Return what each weight can reach, by its name, and last what all can share."""
    alone = [(weight.map.name, weight.alone) for weight in window.weights]
    return [*alone, ("the shared window", window.common)]


def _how_found(window: Window) -> Iterator[str]:
    """Yield how exact the lines are, and what isn't proven."""
    reaches, rg = _reaches(window), Units.of(window.scenario).rg
    if exact := [reach.error for _, reach in reaches if reach.proven and reach.bands]:
        off = max(exact)
        between = f"off by at most {rg.told(off, 3)}" if off > 0.0 else "exact"
        yield (
            "Each weight's corners are measured from their densities; the lines between are "
            f"{between} (where two lines cross at a small angle, the crossing by a little more)."
        )
    if (common := window.common).beyond and common.bands:
        yield (
            "The shared window: it is proven that nothing lies beyond its lines by more than "
            f"{rg.told(common.error, 3)}, and every corner is measured from its densities; that "
            "all weights can have everything between the lines was found, not proven."
        )
    if unproven := [(who, reach) for who, reach in reaches if reach.bands and not reach.bounded]:
        off = max(reach.error for _, reach in unproven)
        yield (
            f"Found, not proven: {listed([who for who, _ in unproven])}. Every corner is measured "
            "from its densities, but there may be more beyond; the lines between may be off by "
            f"{rg.told(off, 3)} (an estimate).{_unsought(window)}"
        )
        if not common.bounded and not _unsought(window):
            yield "--proof FILE seeks a proof that nothing lies beyond the shared window."
    if lost := [who for who, reach in reaches if reach.empty and not reach.proven]:
        yield f"Not found, and not proven empty: {listed(lost)}.{_unsought(window)}"
    if unseen := [who for who, reach in reaches if not reach.whole and not reach.proven]:
        yield (
            f"Not searched: {listed(unseen)}, some choices of which axis has the low RG, and "
            "of the CG's side."
        )


def _unsought(window: Window) -> str:
    """Return why it isn't sought to be proven what a search found; empty where it is."""
    if all(map(flat, window.maps)):
        return ""
    return (
        " A proof is only sought where all parts stand on the pin axis, no CG offset is asked for "
        "and, but for a symmetric core, no intermediate differential is limited."
    )


def _empty(window: Window) -> Iterator[str]:
    """Yield which windows are empty, without area, or in several pieces."""
    reaches, asked = _reaches(window), figures_held(window.scenario.target)
    figures = listed([figure.words for figure in asked])
    at = f", at the {figures} that {'is' if len(asked) == 1 else 'are'} asked for" if asked else ""
    if none := [who for who, reach in reaches[:-1] if reach.empty and reach.proven]:
        yield f"{listed(none)}: no densities meet the class weight and keep every limit{at}."
    if thin := [who for who, reach in reaches[:-1] if reach.bands and reach.area == 0.0]:
        why = at or ", since no more densities are free than it takes"
        yield f"{listed(thin)}: a line or a point{why}."
    for who, reach in reaches:
        if len(reach.bands) > 1:
            yield f"{who}: {plural(len(reach.bands), 'piece')}; the chart shows them all."
