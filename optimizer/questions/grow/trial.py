"""A candidate tried quickly: the heaviest and the lightest weight, from one start."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import chain, count
from typing import Any

from optimizer.lineup.moulds.starts import (
    MET,
    Outcome,
    Rank,
    Starts,
    from_start,
    groups,
    poured,
    start_points,
)
from optimizer.lineup.rows import Lineup
from optimizer.scenario import Written, read_again
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.source.editing import edited
from optimizer.scenario.text.scenario_text import FreeDimension
from shared.arrays import Array
from shared.errors import InputError, SolverError
from shared.models import Path
from shared.units import LENGTHS


@dataclass(frozen=True)
class Candidate:
    """A scenario that might be the line's next: its text, and what is new in it, in words.

    `place` and `material` are those of the new part, empty where one goes.
    """

    text: str
    what: str
    place: str = ""
    material: str = ""


@dataclass(frozen=True)
class Trial:
    """How good a candidate was found to be, and its text with its best lengths as starts."""

    rank: Rank
    text: str


class _Enough(Exception):  # noqa: N818 - not an error: the walk has gone far enough
    """Ends a walk where it is."""

    def __init__(self, outcome: Outcome) -> None:
        self.outcome = outcome


def tried(written: Written, steps: float = math.inf) -> Trial | None:
    """Return how good a scenario is found to be in so many steps, None where no mould can be.

    A worker's task. It is no answer: other weights may ask for more, other starts may find more.
    """
    try:
        asked = read_again(written, {})
        ranks, values = list[Rank](), dict[str, float]()
        for lineup in map(_ends, groups(asked)):
            outcome = _outcome(lineup, steps)
            if outcome is None:
                return None
            ranks.append(outcome.rank)
            classes = {drawing.label: drawing for drawing in asked.classes}
            for label, lengths in outcome.dimensions.items():
                names = (free.name for free in asked.free_in(classes[label]))
                values |= dict(zip(names, lengths, strict=True))
    except (InputError, SolverError):
        return None
    return Trial(min(ranks), started(asked, values))


def _outcome(lineup: Lineup, steps: float) -> Outcome | None:
    """Return where a walk of so many steps ends, for weights that are coupled.

    A short walk that ends outside the limits is tried once more, from elsewhere.
    """
    of = lineup.columns
    if not of.mould.any():
        return poured(lineup)
    best: Outcome | None = None
    for point in start_points(lineup, Starts(count=1 if steps == math.inf else 2)):
        outcome = _walked(lineup, point, steps)
        if outcome is not None and (best is None or outcome.rank > best.rank):
            best = outcome
        if best is not None and best.rank > (MET, 0.0):
            break
    return best


def _walked(lineup: Lineup, point: Array, steps: float) -> Outcome | None:
    """Return where a walk of so many steps from some dimensions ends, None if they are no mould."""
    gone = count(1)

    def stepped(outcome: Outcome) -> None:
        if next(gone) >= steps:
            raise _Enough(outcome)

    try:
        return from_start(lineup, point, stepped)
    except _Enough as enough:
        return enough.outcome


def started(asked: Scenario, lengths: dict[str, float]) -> str:
    """Return a scenario's text, the search for its free dimensions starting at `lengths`, cm."""
    unit, digits = asked.reading.length, LENGTHS[asked.text.units.length].digits
    changes = dict[Path, Any]()
    for name, length in lengths.items():
        own = asked.text.dimensions[name]
        if isinstance(own, FreeDimension):
            start = float(f"{min(max(round(length / unit, digits), own.min), own.max):.12g}")
            changes["dimensions", name, "start"] = start
    return edited(asked.source, changes, below="max", file=asked.file)


def _ends(lineup: Lineup) -> Lineup:
    """Return the heaviest and the lightest weight of some that are coupled."""
    maps = sorted(lineup.maps, key=lambda linear_map: linear_map.mass)
    whole = set(chain(*(linear_map.places for linear_map in maps)))
    ends = [maps[0], maps[-1]]
    if len(maps) < 3 or set(chain(*(each.places for each in ends))) != whole:
        return lineup
    return replace(Lineup.of(ends, lineup.sharing), within=lineup.within)
