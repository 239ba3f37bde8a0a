"""What is proven of a line's windows: those that a search found, and the evidence for every one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.proof.evidence import Evidence
from optimizer.questions.window.outside import outside
from optimizer.questions.window.reach import Reach, flat
from optimizer.questions.window.shared_reach import coupled_groups
from optimizer.questions.window.window import Window
from shared import activity


def decided(window: Window, *, lines: bool = False) -> Window:
    """Return the windows with what can be proven of a shared one that a search found.

    Where nothing was found: that there is nothing. Else, with `lines`, that nothing lies beyond its
    lines. It is only sought where all parts stand on the pin axis.
    """
    common = window.common
    if common.proven or not all(map(flat, window.maps)) or not (common.empty or lines):
        return window
    activity.at("proving what all weights together can reach")
    shown = outside(window.maps, window.scenario.sharing, common, LinearSolver())
    if shown is None:
        return window
    proven = Reach((), 0.0) if common.empty else replace(common, error=shown.off, whole=True)
    return replace(window, common=replace(proven, beyond=shown.evidence))


def evidence(window: Window) -> Iterator[Evidence | str]:
    """Yield the evidence for each window of which something is proven, or what isn't shown of it.

    What weights share that share no density needs none: it is what lies in all their windows.
    """
    sharing, solver, common = window.scenario.sharing, LinearSolver(), window.common
    every = [(weight.map.name, [weight.map], weight.alone) for weight in window.weights]
    if common.beyond or (len(window.maps) > 1 and len(coupled_groups(window.maps, sharing)) == 1):
        every.append(("all weights together", window.maps, common))
    for who, maps, reach in every:
        shown = reach.beyond
        if shown is None and reach.proven:
            activity.at(f"proving what {who} can reach")
            found = outside(maps, sharing, reach, solver)
            shown = None if found is None else found.evidence
        if shown is not None:
            yield shown.called(f"what {who} can reach in low RG and differential")
        elif reach.proven or (reach is common and all(map(flat, maps))):
            yield f"{who}: no proof of this window was found"
