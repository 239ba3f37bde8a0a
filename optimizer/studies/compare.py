"""Candidates for one line, side by side: what each needs, and which one is no better in anything.

Nothing here adds figures of different kinds up: there is no score, and no best candidate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from functools import cached_property
from pathlib import PurePath

from optimizer.linear.rows import Margin
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.shown import Shown
from optimizer.studies.fillers import Material, material
from optimizer.studies.pours import Point

LONGEST = 16
"""Letters of a candidate's name at the most, so that it stands above a column and in a picture."""
TENTH = Decimal("0.1")
"""Margins are told to a tenth of a tolerance; two that read alike are alike."""


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
        return next((one for one in self.result.weights if one.label == label), None)

    def material(self, labels: Sequence[str]) -> Material:
        """Return what one ball of each of these weights holds, those that the line has."""
        return material(one.ball for one in self.result.weights if one.label in labels)


def told(margin: Margin) -> Decimal:
    """Return a margin in tolerances as it is printed, to a tenth."""
    return Decimal(repr(float(margin.tolerances or 0.0))).quantize(TENTH, ROUND_HALF_EVEN)


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
            for one in candidate.result.weights:
                mass = one.ball.map.mass
                heaviest[one.label] = max(mass, heaviest.get(one.label, mass))
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
    def targets(self) -> tuple[tuple[float, ...], ...]:
        """What the candidates aim at, each once: about a point (0 the CG), then the figures, cm."""
        aims = [
            (float(one.result.scenario.about != "cg"), *(round(x, 6) for x in one.result.figures))
            for one in self.candidates
        ]
        return tuple(dict.fromkeys(aims))

    def above(self, candidate: Candidate) -> tuple[Candidate, ...]:
        """Return the candidates that dominate one: no worse in margin and pours, better in one.

        Margin counts twice, the smallest of all and the smallest that densities move, so that a
        wall that all have alike hides nothing. Only line-ups that were found, of the same weights.
        """
        return tuple(other for other in self.candidates if self._dominates(other, candidate))

    def _dominates(self, one: Candidate, other: Candidate) -> bool:
        alike = {w.label for w in one.result.weights} == {w.label for w in other.result.weights}
        if not one.rooms or not other.rooms or not alike:
            return False
        gains = [a - b for a, b in zip(one.rooms, other.rooms, strict=True)]
        gains.append(Decimal(other.pours - one.pours))
        return min(gains) >= 0 and max(gains) > 0


def comparison(sources: Sequence[str], results: Sequence[LineupResult]) -> Comparison:
    """Return line-ups as candidates; `sources` are the names of the files they came from."""
    known = zip(names(sources, results), sources, results, strict=True)
    return Comparison(tuple(Candidate(*one) for one in known))


def names(sources: Sequence[str], results: Sequence[LineupResult]) -> tuple[str, ...]:
    """Return a short name for each line-up: its scenario's, or its file's, or else a letter.

    A way of naming is taken for all of them, and only where all differ.
    """
    for way in ([one.scenario.name for one in results], [PurePath(one).stem for one in sources]):
        short = [name if len(name) <= LONGEST else f"{name[: LONGEST - 1]}…" for name in way]
        if len(set(short)) == len(short):
            return tuple(short)
    return tuple(chr(ord("A") + k) for k in range(len(results)))
