"""Places that no line-up pours alike: asked of the relaxation of their weights, and remembered.

A place is a part in a weight, numbered as in `optimizer.certificate.groupings`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from optimizer.ball.weight_class import LinearMap
from optimizer.certificate.groupings import Blocks, Clash, Places
from optimizer.certificate.question import Ball, Question
from optimizer.lineup.columns import Sharing, coupled
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.proof.evidence import Evidence
from optimizer.lineup.proof.known import Known
from optimizer.lineup.proof.proof import Relaxation
from optimizer.lineup.rows import Lineup
from shared.errors import SolverError

EACH = 60
"""Boxes examined before it is left open whether places clash."""
TOGETHER = 8
"""The most weights in one relaxation: a proof for some of them holds for the line."""


class SpentError(Exception):
    """The effort that may be spent is spent."""


class Tied(Relaxation):
    """The question whether some weights have a line-up with blocks of places at one density each.

    What is checked is the question as the checker derives it from that of the whole line.
    """

    def __init__(self, lineup: Lineup, solver: LinearSolver, question: Question) -> None:
        self._derived = question
        super().__init__(lineup, solver)

    @property
    def question(self) -> Question:
        """What is asked, as the checker has it."""
        return self._derived


class Clashes:
    """The smallest clashes that are known, each with its proof.

    `effort` is the number of programs that may be solved; `alike` are densities, place by place, of
    line-ups that were found: what they have alike doesn't clash.
    """

    def __init__(self, maps: Sequence[LinearMap], sharing: Sharing, effort: int) -> None:
        self.maps, self.sharing, self.left = maps, sharing, effort
        self.lineup = Lineup.of(maps, sharing)
        self.whole = Evidence.none(Known(self.lineup), 0.0, [])
        self.at = [(k, i) for k, m in enumerate(maps) for i in range(len(m.pours))]
        self.materials = [[pour.material for pour in m.pours] for m in maps]
        balls = {label: Ball.read(ball) for label, ball in self.whole.balls.items()}
        self.places = Places.read(Question.read(self.whole.question, balls), self.materials)
        self.alike: list[Sequence[float]] = []
        self.known, self.proofs = list[Clash](), list[dict[str, Any]]()
        self._groups = list(coupled(maps, sharing))
        self._solver = LinearSolver()
        self._answers = dict[Blocks, bool]()
        self._open = list[Blocks]()

    def part(self, place: int) -> str:
        """Return the part of a place."""
        k, i = self.at[place]
        return self.maps[k].pours[i].part

    def spend(self, effort: int) -> None:
        """Take some effort. Raises SpentError where none is left."""
        if self.left <= 0:
            raise SpentError
        self.left -= effort

    def among(self, groups: Iterable[Iterable[int]], of: int) -> bool:
        """Whether a clash is found among the groups coupled with that of a place; it is known then.

        Raises SpentError.
        """
        mine = (each for each in self._coupled(groups) if any(of in block for block in each))
        return any(self.clash(blocks) for blocks in mine)

    def clash(self, blocks: Blocks) -> bool:
        """Whether blocks are proven to clash; the smallest clash in them is known then."""
        if blocks not in self._answers:
            self._answers[blocks] = not self._contained(blocks) and self._proven(blocks)
        return self._answers[blocks]

    def _contained(self, blocks: Blocks) -> bool:
        """Whether a line-up has these alike, or more was left open."""
        if any(all(len({x[p] for p in block}) == 1 for block in blocks) for x in self.alike):
            return True
        return any(
            all(any(set(block) <= set(b) for b in larger) for block in blocks)
            for larger in self._open
        )

    def _proven(self, blocks: Blocks) -> bool:
        """Whether blocks are proven to clash. Raises SpentError."""
        own = self._weights(blocks)
        for weights in dict.fromkeys((own, self._with_coupled(own))):
            if (proof := self._proof(weights, blocks)) is not None:
                if not any(self.clash(smaller) for smaller in self._smaller(blocks)):
                    tree = proof.shown["none"]
                    self.known.append(Clash(blocks))
                    self.proofs.append({"balls": weights, "same": blocks, "none": tree})
                return True
        self._open.append(blocks)
        return False

    def _proof(self, weights: Sequence[int], blocks: Blocks) -> Evidence | None:
        """Return the proof that some weights have no line-up with blocks at one density each."""
        if len(weights) > TOGETHER:
            return None
        self.spend(0)
        before, lineup = self._solver.solved, self._lineup(weights, blocks)
        try:
            relaxation = Tied(lineup, self._solver, self.places.tied(weights, blocks))
            return relaxation.verdict(EACH).proof
        except SolverError:
            return None
        finally:
            self.left -= self._solver.solved - before

    def _lineup(self, weights: Sequence[int], blocks: Blocks) -> Lineup:
        lineup = Lineup.of([self.maps[k] for k in weights], self.sharing)
        poured = [int(j) for places in lineup.columns.poured for j in places]
        own = [place for place, (k, _) in enumerate(self.at) if k in weights]
        column = dict(zip(own, poured, strict=True))
        pairs = ((column[block[0]], column[place]) for block in blocks for place in block[1:])
        return replace(lineup, columns=lineup.columns.tied(pairs))

    def _smaller(self, blocks: Blocks) -> Iterator[Blocks]:
        """Yield what is left of blocks without one weight, then without one place."""
        weights = self._weights(blocks)
        for k in weights if len(weights) > 2 else ():
            yield from self._coupled([p for p in block if self.at[p][0] != k] for block in blocks)
        for gone in (place for block in blocks for place in block):
            yield from self._coupled([p for p in block if p != gone] for block in blocks)

    def _coupled(self, groups: Iterable[Iterable[int]]) -> list[Blocks]:
        """Return blocks, set by set: those of a set have weights in common, or coupled ones."""
        sets: list[tuple[set[int], list[tuple[int, ...]]]] = []
        for block in sorted(tuple(sorted(group)) for group in groups):
            if len(block) > 1:
                weights, own = set(self._with_coupled(self._weights((block,)))), [block]
                for other in [each for each in sets if each[0] & weights]:
                    sets.remove(other)
                    weights, own = weights | other[0], other[1] + own
                sets.append((weights, own))
        return [tuple(sorted(own)) for _, own in sets]

    def _with_coupled(self, weights: Sequence[int]) -> tuple[int, ...]:
        """Return weights and those that the scenario couples with them."""
        groups = (group for group in self._groups if not set(group).isdisjoint(weights))
        return tuple(sorted(k for group in groups for k in group))

    def _weights(self, blocks: Blocks) -> tuple[int, ...]:
        """Return the weights that have a density of these blocks, by number."""
        columns = self.places.columns
        tied = {columns[place] for block in blocks for place in block}
        return tuple(sorted({self.at[p][0] for p, j in enumerate(columns) if j in tied}))
