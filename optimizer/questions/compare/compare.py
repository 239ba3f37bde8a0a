"""Candidates for one line, side by side: what each needs, and which ones are dominated.

Figures of different kinds are never added up: there is no score, and no best candidate.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from functools import cached_property
from pathlib import PurePath
from typing import Final

from optimizer.ball.bounds import Margin
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.lineup.shown import Shown
from optimizer.questions.compare.differences import Value, alike, values_of
from optimizer.questions.sharing.fillers import Material, material
from optimizer.questions.sharing.pours import Point
from optimizer.scenario import Scenario
from optimizer.scenario.source.keys import keys_of
from shared.what_if import AS_WRITTEN, WhatIf

AS_SET: Final = "as-set"
"""The name of a column with what was set in all of them, and nothing else."""
LONGEST = 16
"""Letters in a candidate's name, at most: it must fit above a column and in a picture."""
TENTH = Decimal("0.1")
"""Margins are printed to a tenth of a tolerance; two that print alike count as equal."""
ASKED: Final = ("target", "weights", "limits", "balance_arm")
"""Tables of a scenario with its requirements; the rest says what a line-up is made of."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """A line-up under a short name that no other candidate has, and the file it came from."""

    name: str
    source: str
    result: LineupResult

    @property
    def found(self) -> bool:
        """Whether there is a line-up; if not, its figures are those of the nearest balls."""
        return self.result.accepted

    @cached_property
    def asked(self) -> dict[str, Value]:
        """The requirements: target, class weights and limits, in our units."""
        values = values_of(self.result.scenario)
        return {table: values.get(table) for table in ASKED}

    @cached_property
    def off(self) -> Decimal:
        """The largest deviation from the target as printed, in the target's tolerances.

        0 where the target is met exactly: rounding of the densities is no deviation.
        """
        largest = self.result.largest_deviation
        return tenths(0.0 if largest is None else abs(largest[1].tolerances or 0.0))

    @cached_property
    def _poured(self) -> Point:
        return Point({}, self.result)

    @property
    def pours(self) -> int:
        """How many different pours the whole line takes."""
        return self._poured.pours

    @cached_property
    def moulds(self) -> int:
        """How many different moulds the line takes."""
        return len({weight.ball.map.parts for weight in self.result.weights})

    @property
    def smallest(self) -> Margin | None:
        """The smallest margin, or None where none has a tolerance."""
        return self.result.smallest

    @property
    def movable(self) -> Margin | None:
        """The smallest margin that a density or a free dimension moves."""
        return self._poured.smallest

    @property
    def rooms(self) -> tuple[Decimal, ...]:
        """Both margins as printed, in tolerances; empty without a line-up or a margin."""
        if not self.found or self.smallest is None:
            return ()
        return tenths(self.smallest.tolerances), tenths((self.movable or self.smallest).tolerances)

    def weight(self, label: str) -> WeightResult | None:
        """Return the weight class of this label, or None where the line has none."""
        return next((weight for weight in self.result.weights if weight.label == label), None)

    def material(self, labels: Sequence[str]) -> Material:
        """Return what one ball of each of these weights holds, of weights that the line has."""
        return material(weight.ball for weight in self.result.weights if weight.label in labels)


def tenths(tolerances: float | None) -> Decimal:
    """Return a number of tolerances as printed, 0 for None."""
    return Decimal(repr(float(tolerances or 0.0))).quantize(TENTH, ROUND_HALF_EVEN)


@dataclass(frozen=True, eq=False)
class Comparison(Shown):
    """Candidates, in the order in which they were named; differences are from the first."""

    candidates: tuple[Candidate, ...]

    @property
    def first(self) -> Candidate:
        """The candidate that the others are compared with."""
        return self.candidates[0]

    @cached_property
    def labels(self) -> tuple[str, ...]:
        """The labels of all weights that any candidate has, from heavy to light."""
        heaviest: dict[str, float] = {}
        for candidate in self.candidates:
            for weight in candidate.result.weights:
                mass = weight.ball.map.mass
                heaviest[weight.label] = max(mass, heaviest.get(weight.label, mass))
        return tuple(sorted(heaviest, key=lambda label: -heaviest[label]))

    @cached_property
    def shared(self) -> tuple[str, ...]:
        """The labels of the weights that all candidates have."""
        own = [{weight.label for weight in each.result.weights} for each in self.candidates]
        return tuple(label for label in self.labels if all(label in labels for labels in own))

    @cached_property
    def alike_in_weights(self) -> bool:
        """Whether all candidates have the same weights."""
        return self.shared == self.labels

    @cached_property
    def same_target(self) -> bool:
        """Whether all candidates have the same target."""
        first = self.first.asked["target"]
        return all(alike(first, candidate.asked["target"]) for candidate in self.candidates)

    def above(self, candidate: Candidate) -> tuple[Candidate, ...]:
        """Return the candidates that dominate one: no worse in anything, better in something.

        What counts is the smallest margin, the smallest that densities move (so that a wall common
        to all hides nothing), pours, and the deviation from the target. Only line-ups that were
        found dominate or are dominated, and only with the same requirements: a margin kept at an
        easier target, weight or limit says nothing about this one.
        """
        return tuple(other for other in self.candidates if _dominates(other, candidate))


def _dominates(candidate: Candidate, other: Candidate) -> bool:
    if not candidate.rooms or not other.rooms or not alike(candidate.asked, other.asked):
        return False
    gains = [a - b for a, b in zip(candidate.rooms, other.rooms, strict=True)]
    gains += [Decimal(other.pours - candidate.pours), other.off - candidate.off]
    return min(gains) >= 0 and max(gains) > 0


def comparison(sources: Sequence[str], results: Sequence[LineupResult]) -> Comparison:
    """Return line-ups as candidates; `sources` are the names of the files they came from."""
    return Comparison(tuple(map(Candidate, names(sources, results), sources, results)))


def names(sources: Sequence[str], results: Sequence[LineupResult]) -> tuple[str, ...]:
    """Return a short name for each line-up: the scenario's, or the file's, or else a letter.

    All are named the same way, the first in which all names differ; those of one file by their
    case, or by what was set in them.
    """
    for every in _named(sources, [result.scenario for result in results]):
        short = [name if len(name) <= LONGEST else f"{name[: LONGEST - 1]}…" for name in every]
        if len(set(short)) == len(short):
            return tuple(short)
    return tuple(chr(ord("A") + k) for k in range(len(results)))


def _named(sources: Sequence[str], asked: Sequence[Scenario]) -> Iterator[list[str]]:
    """Yield the ways to name line-ups, the last ones by what was set in one and not in all."""
    yield [scenario.name for scenario in asked]
    yield [PurePath(source).stem for source in sources]
    every = [scenario.what_if for scenario in asked]
    common = set(every[0].sets).intersection(*(what.sets for what in every))
    cases = {what.case for what in every}
    plain = AS_SET if common or None not in cases else AS_WRITTEN
    for form in ("{} = {}", "{1}"):
        yield [", ".join(_own(what, common, cases, form)) or plain for what in every]


def _own(
    what: WhatIf, common: Collection[str], cases: Collection[str | None], form: str
) -> Iterator[str]:
    """Yield a line-up's case where cases differ, and the last of what was set in it alone."""
    if what.case is not None and len(cases) > 1:
        yield what.case
    for text in [text for text in what.sets if text not in common][-1:]:
        key, _, value = text.partition(" = ")
        yield form.format(keys_of(key)[-1], value)
