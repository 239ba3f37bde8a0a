"""Many candidates for the free dimensions, one after the other, in an order set by the seed.

The first is the drawing as it stands, so that the best is no worse. The others are the points of
one scrambled Sobol set over all free dimensions and the rack together: its first points cover the
box evenly however many follow, and each can be made without those before it. Nothing is kept: a
candidate is handed on as soon as its turn comes.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Generator, Iterator, Sequence
from contextlib import closing
from functools import partial

from optimizer.lineup.moulds.chosen import as_cut
from optimizer.lineup.moulds.pools import Pool, in_order
from optimizer.lineup.moulds.rack import Slot, chosen, slots
from optimizer.questions.explore.candidate import Candidate, candidate
from optimizer.scenario import Scenario
from optimizer.scenario.scenario import Rack
from shared.activity import Series
from shared.errors import InputError, Problem


def to_pick(asked: Scenario) -> list[Slot]:
    """Return the slots to pick, in the order of the file. Raises InputError if there are none."""
    if not asked.open:
        what = "no dimension is free: there is one candidate only"
        instead = "give one as { min = …, max = … } or { one_of = […] }"
        raise InputError([Problem(what, instead=instead, file=asked.file)])
    order = list(asked.text.dimensions)
    every = (*slots(asked, asked.free), *slots(asked, asked.rack))
    return sorted(every, key=lambda slot: order.index(slot.of.name))


def _value(asked: Scenario, slot: Slot, share: float) -> float:
    """Return the value at a share in [0, 1) of the range or the rack, as stated."""
    if isinstance(slot.of, Rack):
        return slot.values[int(share * len(slot.values))]
    return as_cut(asked, slot.of, slot.of.low + share * slot.of.span)


def _drawn(asked: Scenario, slot: Slot) -> float:
    """Return the value in the drawing as it stands: the start, or the first on the rack."""
    if isinstance(slot.of, Rack):
        return slot.values[0]
    return float(f"{slot.of.start / asked.reading.length:.12g}")


def most(picked: Sequence[Slot]) -> int | None:
    """Return how many candidates there are, None unless all slots are racks."""
    return math.prod(len(slot.values) for slot in picked) or None


def points(
    asked: Scenario, picked: Sequence[Slot], seed: int, numbers: range
) -> Iterator[tuple[float, ...]]:
    """Yield the values of the candidates of these `numbers`, from 0, one for each slot.

    In the scenario's unit of length; 0 is the drawing as it stands. Of racks alone every choice,
    in turn.
    """
    if most(picked) is not None:
        choices = itertools.product(*(slot.values for slot in picked))
        yield from itertools.islice(choices, numbers.start, numbers.stop)
        return
    from scipy.stats import qmc  # noqa: PLC0415 - heavy: only where something is explored

    if 0 in numbers:
        yield tuple(_drawn(asked, slot) for slot in picked)
    sobol, first = qmc.Sobol(len(picked), rng=seed), max(numbers.start, 1)
    if first > 1:  # by 0 it fails
        sobol.fast_forward(first - 1)
    for _ in range(first, numbers.stop):
        shares = sobol.random(1)[0].tolist()
        yield tuple(_value(asked, slot, share) for slot, share in zip(picked, shares, strict=True))


Explored = tuple[tuple[float, ...], Candidate]
"""The values of a candidate, one for each slot, and its outcome."""


def explored(
    asked: Scenario, picked: Sequence[Slot], seed: int, numbers: range, pool: Pool
) -> Generator[Explored, None, None]:
    """Yield the candidates of these `numbers`, from 0, in order."""
    series, best = Series("candidate", numbers.stop, numbers.start), -math.inf
    every, again = itertools.tee(points(asked, picked, seed, numbers))
    task = partial(candidate, asked.written)
    with pool() as workers:
        results = workers.results((chosen(picked, x) for x in again), task, task, series)
        with closing(results):
            for values, outcome in zip(every, in_order(results), strict=True):
                best = max(best, -math.inf if outcome.margin is None else outcome.margin)
                series.step(None if best == -math.inf else best)
                yield values, outcome
