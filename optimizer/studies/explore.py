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
from dataclasses import dataclass
from math import prod

from optimizer.linear.maps import Dimension
from optimizer.lineup.chosen import as_cut
from optimizer.lineup.pools import Pool
from optimizer.scenario import Scenario
from optimizer.scenario.dimensions import Chosen
from optimizer.scenario.scenario import Rack
from optimizer.studies.candidate import Candidate, candidate
from shared.errors import InputError, Problem

AHEAD = 256
"""Candidates that are at work or wait for their turn at the most."""


@dataclass(frozen=True)
class Slot:
    """One value to pick: a dimension for the weights that have it alike."""

    of: Dimension | Rack
    labels: tuple[str, ...]

    def value(self, asked: Scenario, share: float) -> float:
        """Return the value at a share in [0, 1) of the range or the rack, as it is stated."""
        if isinstance(self.of, Rack):
            return self.of.values[int(share * len(self.of.values))]
        return as_cut(asked, self.of, self.of.low + share * self.of.span)

    def drawn(self, asked: Scenario) -> float:
        """Return the value in the drawing as it stands: the start, or the first on the rack."""
        if isinstance(self.of, Rack):
            return self.of.values[0]
        return float(f"{self.of.start / asked.reading.length:.12g}")


def slots(asked: Scenario) -> list[Slot]:
    """Return what is to be picked, in the order of the file. Raises InputError if nothing is."""
    if not asked.open:
        raise InputError(
            [
                Problem(
                    "no dimension is free: there is one candidate only",
                    instead="give one as { min = …, max = … } or { one_of = […] }",
                    file=asked.file,
                )
            ]
        )
    by_name = dict[str, Dimension | Rack]((one.name, one) for one in asked.free)
    by_name.update((one.name, one) for one in asked.rack)
    return [
        Slot(by_name[name], group)
        for name in asked.text.dimensions
        if name in by_name
        for group in _all_groups(by_name[name].groups, asked.having(name))
    ]


def _all_groups(
    groups: Sequence[tuple[str, ...]], labels: Sequence[str]
) -> Iterator[tuple[str, ...]]:
    """Yield the groups, and each weight that is in none as one of its own."""
    yield from groups
    yield from ((x,) for x in labels if not any(x in group for group in groups))


def most(some: Sequence[Slot]) -> int | None:
    """Return how many candidates there are at all, where the rack alone says so."""
    racks = [one.of for one in some if isinstance(one.of, Rack)]
    return prod(len(rack.values) for rack in racks) if len(racks) == len(some) else None


def points(
    asked: Scenario, some: Sequence[Slot], seed: int, numbers: range
) -> Iterator[tuple[float, ...]]:
    """Yield the values of the candidates of these `numbers`, from 0, one for each slot.

    In the scenario's unit of length; 0 is the drawing as it stands. Where there is nothing but a
    rack: every choice in turn.
    """
    racks = [one.of.values for one in some if isinstance(one.of, Rack)]
    if len(racks) == len(some):
        yield from itertools.islice(itertools.product(*racks), numbers.start, numbers.stop)
        return
    from scipy.stats import qmc  # noqa: PLC0415 - heavy: only where something is explored

    if 0 in numbers:
        yield tuple(one.drawn(asked) for one in some)
    sobol, first = qmc.Sobol(len(some), rng=seed), max(numbers.start, 1)
    if first > 1:  # by 0 it fails
        sobol.fast_forward(first - 1)
    for _ in range(first, numbers.stop):
        shares = sobol.random(1)[0].tolist()
        yield tuple(one.value(asked, share) for one, share in zip(some, shares, strict=True))


def chosen(some: Sequence[Slot], values: Sequence[float]) -> Chosen:
    """Return values, one for each slot, by name and weight label."""
    found: dict[str, dict[str, float]] = {}
    for one, value in zip(some, values, strict=True):
        found.setdefault(one.of.name, {}).update(dict.fromkeys(one.labels, value))
    return found


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
