"""Many candidates for the free dimensions, one after the other, in an order that the seed says.

The first is the drawing as it stands, so that none is called best that is worse. The others are the
points of one scrambled Sobol set over all free dimensions and the rack together: the first so many
of them cover the box evenly however many follow, and any one of them can be made without those
before it. Nothing is kept: a candidate is handed on as soon as it is its turn.
"""

from __future__ import annotations

import itertools
from collections import deque
from collections.abc import Generator, Iterator, Sequence
from concurrent.futures import Future
from math import prod

from optimizer.lineup.moulds.chosen import as_cut
from optimizer.lineup.moulds.pools import Pool
from optimizer.lineup.moulds.rack import Slot, chosen, slots
from optimizer.questions.explore.candidate import Candidate, candidate
from optimizer.scenario import Scenario
from optimizer.scenario.scenario import Rack
from shared.errors import InputError, Problem

AHEAD = 256
"""Candidates that are at work or wait for their turn at the most."""


def to_pick(asked: Scenario) -> list[Slot]:
    """Return what is to be picked, in the order of the file. Raises InputError if nothing is."""
    if not asked.open:
        what = "no dimension is free: there is one candidate only"
        instead = "give one as { min = …, max = … } or { one_of = […] }"
        raise InputError([Problem(what, instead=instead, file=asked.file)])
    order, every = (
        list(asked.text.dimensions),
        [*slots(asked, asked.free), *slots(asked, asked.rack)],
    )
    return sorted(every, key=lambda slot: order.index(slot.of.name))


def _value(asked: Scenario, slot: Slot, share: float) -> float:
    """Return the value at a share in [0, 1) of the range or the rack, as it is stated."""
    if isinstance(slot.of, Rack):
        return slot.values[int(share * len(slot.values))]
    return as_cut(asked, slot.of, slot.of.low + share * slot.of.span)


def _drawn(asked: Scenario, slot: Slot) -> float:
    """Return the value in the drawing as it stands: the start, or the first on the rack."""
    if isinstance(slot.of, Rack):
        return slot.values[0]
    return float(f"{slot.of.start / asked.reading.length:.12g}")


def most(some: Sequence[Slot]) -> int | None:
    """Return how many candidates there are at all, where the rack alone says so."""
    return prod(len(slot.values) for slot in some) or None


def points(
    asked: Scenario, some: Sequence[Slot], seed: int, numbers: range
) -> Iterator[tuple[float, ...]]:
    """Yield the values of the candidates of these `numbers`, from 0, one for each slot.

    In the scenario's unit of length; 0 is the drawing as it stands. Where there is nothing but a
    rack: every choice in turn.
    """
    if most(some) is not None:
        choices = itertools.product(*(slot.values for slot in some))
        yield from itertools.islice(choices, numbers.start, numbers.stop)
        return
    from scipy.stats import qmc  # noqa: PLC0415 - heavy: only where something is explored

    if 0 in numbers:
        yield tuple(_drawn(asked, slot) for slot in some)
    sobol, first = qmc.Sobol(len(some), rng=seed), max(numbers.start, 1)
    if first > 1:  # by 0 it fails
        sobol.fast_forward(first - 1)
    for _ in range(first, numbers.stop):
        shares = sobol.random(1)[0].tolist()
        yield tuple(_value(asked, slot, share) for slot, share in zip(some, shares, strict=True))


Explored = tuple[tuple[float, ...], Candidate]
"""The values of a candidate, one for each slot, and what was found of it."""


def explored(
    asked: Scenario, some: Sequence[Slot], seed: int, numbers: range, pool: Pool
) -> Generator[Explored, None, None]:
    """Yield the candidates of these `numbers`, from 0, in order, whoever has run them."""
    with pool() as executor:
        every = points(asked, some, seed, numbers)
        if executor is None:
            for values in every:
                yield values, candidate(asked.written, chosen(some, values))
            return
        running: deque[tuple[tuple[float, ...], Future[Candidate]]] = deque()
        try:
            for values in every:
                task = executor.submit(candidate, asked.written, chosen(some, values))
                running.append((values, task))
                if len(running) == AHEAD:
                    yield _next(running)
            while running:
                yield _next(running)
        finally:
            for _, task in running:
                task.cancel()


def _next(running: deque[tuple[tuple[float, ...], Future[Candidate]]]) -> Explored:
    values, task = running[0]
    found = task.result()
    running.popleft()
    return values, found
