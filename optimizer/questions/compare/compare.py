"""Candidates for one line, side by side: what each needs, and which one is no better in anything.

Nothing here adds figures of different kinds up: there is no score, and no best candidate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from functools import cached_property
from pathlib import PurePath
from typing import Final

from optimizer.ball.bounds import Margin
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.lineup.shown import Shown
from optimizer.questions.compare.differences import Said, alike, said
from optimizer.questions.sharing.fillers import Material, material
from optimizer.questions.sharing.pours import Point

LONGEST = 16
"""Letters of a candidate's name at the most, so that it stands above a column and in a picture."""
TENTH = Decimal("0.1")
"""Margins are told to a tenth of a tolerance; two that read alike are alike."""
ASKED: Final = ("target", "weights", "limits", "balance_arm")
"""Tables of a scenario that say what a line-up has to do; the rest says what it is made of."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """A line-up under a short name that no other candidate has, and the file it came from."""

    name: str
    source: str
    result: LineupResult

    @property
    def found(self) -> bool:
        """Whether there is a line-up; else its figures are those of the nearest balls."""
        return self.result.accepted

    @cached_property
    def asked(self) -> dict[str, Said]:
        """What the line-up has to do: its target, class weights and limits, in our units."""
        every = said(self.result.scenario)
        return {table: every.get(table) for table in ASKED}

    @cached_property
    def off(self) -> Decimal:
        """The largest deviation from the target as it is told, in the target's tolerances.

        0 where the target is met exactly: what stating the densities moves is no deviation.
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
        """How many different sets of parts are drawn."""
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
        """Both margins as they are told; empty where there is nothing to tell of either."""
        if not self.found or self.smallest is None:
            return ()
        return tuple(told(margin) for margin in (self.smallest, self.movable or self.smallest))

    def weight(self, label: str) -> WeightResult | None:
        """Return the weight class of this label, or None where the line has none."""
        return next(
            (
                weight_result
                for weight_result in self.result.weights
                if weight_result.label == label
            ),
            None,
        )

    def material(self, labels: Sequence[str]) -> Material:
        """Return what one ball of each of these weights holds, those that the line has."""
        return material(
            weight_result.ball
            for weight_result in self.result.weights
            if weight_result.label in labels
        )


def told(margin: Margin) -> Decimal:
    """Return a margin in tolerances as it is printed, to a tenth."""
    return tenths(margin.tolerances or 0.0)


def tenths(tolerances: float) -> Decimal:
    """Return a number of tolerances as it is printed."""
    return Decimal(repr(float(tolerances))).quantize(TENTH, ROUND_HALF_EVEN)


@dataclass(frozen=True, eq=False)
class Comparison(Shown):
    """Candidates, in the order in which they were named; what is told of input is of the first."""

    candidates: tuple[Candidate, ...]

    @property
    def first(self) -> Candidate:
        """The candidate that the others are held against."""
        return self.candidates[0]

    @cached_property
    def labels(self) -> tuple[str, ...]:
        """The labels of all weights that any candidate has, from heavy to light."""
        heaviest: dict[str, float] = {}
        for candidate in self.candidates:
            for weight_result in candidate.result.weights:
                mass = weight_result.ball.map.mass
                heaviest[weight_result.label] = max(mass, heaviest.get(weight_result.label, mass))
        return tuple(sorted(heaviest, key=lambda label: -heaviest[label]))

    @cached_property
    def shared(self) -> tuple[str, ...]:
        """The labels of the weights that all candidates have."""
        return tuple(
            label
            for label in self.labels
            if all(candidate.weight(label) is not None for candidate in self.candidates)
        )

    @cached_property
    def alike_in_weights(self) -> bool:
        """Whether all candidates have the same weights."""
        return self.shared == self.labels

    @cached_property
    def same_target(self) -> bool:
        """Whether all candidates are asked for the same RG, differential and so on."""
        first = self.first.asked["target"]
        return all(alike(first, candidate.asked["target"]) for candidate in self.candidates)

    def above(self, candidate: Candidate) -> tuple[Candidate, ...]:
        """Return the candidates that dominate one: no worse in anything told, better in something.

        Told are the smallest margin, the smallest that densities move (so that a wall that all have
        alike hides nothing), pours, and how far off the target it is. Only line-ups that were found
        dominate or are dominated, and only where the same is asked of both: a margin kept at an
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
    known = zip(names(sources, results), sources, results, strict=True)
    return Comparison(tuple(Candidate(*one) for one in known))


def names(sources: Sequence[str], results: Sequence[LineupResult]) -> tuple[str, ...]:
    """Return a short name for each line-up: its scenario's, or its file's, or else a letter.

    A way of naming is taken for all of them, and only where all differ.
    """
    for way in (
        [result.scenario.name for result in results],
        [PurePath(one).stem for one in sources],
    ):
        short = [name if len(name) <= LONGEST else f"{name[: LONGEST - 1]}…" for name in way]
        if len(set(short)) == len(short):
            return tuple(short)
    return tuple(chr(ord("A") + k) for k in range(len(results)))
