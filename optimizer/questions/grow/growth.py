"""Where the next pour of a line should go, or which one may go: searched, solved, ranked.

Every part that the shapes allow is tried quickly in every material, and the most promising are
solved. Two more pours are searched one after the other, the second beside the best first ones.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing, nullcontext
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Final

from geometry.nesting import outermost
from optimizer.lineup.moulds.pools import Workers
from optimizer.lineup.moulds.starts import ALIKE, MISSED, Starts
from optimizer.lineup.result import LineupResult
from optimizer.questions.grow.forms import forms
from optimizer.questions.grow.grown import Grown, Growth, Way, base, grown, ranked
from optimizer.questions.grow.trial import Candidate, Trial, tried
from optimizer.scenario import Scenario, read_again
from optimizer.scenario.source.part_tables import without_part
from shared import activity, stopping
from shared.activity import Series
from shared.errors import InputError, Problem, SolverError, UndecidedError

STEPS: Final = 4
"""How far every candidate is tried."""
FURTHER: Final = 12
"""Of these, how many are tried to the end."""
SOLVED: Final = 6
"""Candidates that are solved after each round of trials."""
EACH: Final = 2
"""Of these, at most so many in one place, if their margins differ."""
BESIDE: Final = 3
"""First pours beside which a second one is tried."""


def growth(result: LineupResult, way: Way, count: int, how: Starts) -> Growth:
    """Return what `count` pours more or fewer are worth to a line.

    Raises InputError where no part can be added, or none be taken away. After Ctrl-C, or the time
    that `how` allows, it is what is known by then.
    """
    with how.pool() as workers:  # one for all searches
        shared = replace(how, pool=lambda: nullcontext(workers))
        return _Search(result, way, shared, workers).found(count)


@dataclass
class _Search:
    result: LineupResult
    way: Way
    how: Starts
    workers: Workers
    tried: int = 0
    fits: int = 0
    refused: list[tuple[str, str]] = field(default_factory=list)
    complete: bool = True
    interrupted: bool = False

    def __post_init__(self) -> None:
        self.ends = time.monotonic() + self.how.seconds
        self.base = base(self.result)

    @property
    def _left(self) -> float:
        """The seconds left."""
        return max(self.ends - time.monotonic(), 0.0)

    def found(self, count: int) -> Growth:
        """Return what is found in so many steps."""
        sources: Sequence[Grown] = (self.base,)
        for _ in range(count):
            candidates = [each for source in sources for each in self._candidates(source)]
            if not candidates:
                raise self._nothing()
            sources = ranked([*self._solved(self._promising(candidates))])
            if not self.complete:
                break
            every, sources = sources, sources[:BESIDE]
        else:
            sources = every
        return Growth(
            self.way,
            count,
            self.base,
            tuple(sources),
            self.tried,
            self.fits,
            tuple(self.refused),
            self.complete,
        )

    def _nothing(self) -> InputError:
        """Return the error where there is no candidate."""
        file = self.base.result.scenario.file
        if self.way == "more":
            what = "no part has room for another one within its walls"
            instead = "make a part larger, or [limits] wall thinner"
            return InputError([Problem(what, instead=instead, file=file)])
        if not self.refused:
            what, instead = "no part can go: there is only the ball", "samespin grow X --more 1"
            return InputError([Problem(what, instead=instead, file=file)])
        return InputError(
            Problem(f'part "{name}" can\'t go: {why}', file=file) for name, why in self.refused
        )

    def _candidates(self, source: Grown) -> Iterator[Candidate]:
        """Yield what a line might become by one step."""
        asked = read_again(
            replace(self.result.scenario.written, source=source.open_text, places=None), {}
        )
        before = "" if source is self.base else f"{source.what}; "
        if self.way == "fewer":
            yield from self._less(asked, before)
            return
        activity.at("looking where another part fits")
        inward = list(forms(asked))[::-1]  # the innermost first: those in the cover are worth least
        for form in inward:  # each in every material, so that little time tries some of all
            for material in asked.text.materials:
                what = f"{before}{form.words}, {material}"
                yield Candidate(form.text(asked, material), what, form.place, material)

    def _less(self, asked: Scenario, before: str) -> Iterator[Candidate]:
        ball = outermost(asked.classes[0].parts).name
        for name in asked.sharing:
            if name == ball:
                continue
            try:
                text = without_part(asked.source, name, asked.file)
                read_again(replace(asked.written, source=text, places=None), {})
            except InputError as error:
                self.refused.append((name, error.problems[0].what))
                continue
            yield Candidate(text, f"{before}without {name}", name)

    def _promising(self, candidates: Sequence[Candidate]) -> list[tuple[Candidate, Trial]]:
        """Return candidates that are worth solving, the most promising first."""
        if self.way == "fewer":
            self.tried += len(candidates)
            return [(each, Trial((MISSED, 0.0), each.text)) for each in candidates]
        first, second = dict[int, Trial](), dict[int, Trial]()
        self._within(self._left / 4, lambda: self._try(candidates, first, STEPS))
        best = _first(first)[:FURTHER]
        further = [replace(candidates[k], text=first[k].text) for k in best]
        if not self.interrupted:
            self._within(self._left / 3, lambda: self._try(further, second))
        known = dict(first)
        for k, trial in second.items():  # another walk from there may end elsewhere
            known[best[k]] = max(trial, first[best[k]], key=lambda each: each.rank)
        self.fits += len(first)
        kept = list[tuple[Candidate, Trial]]()
        for k in _first(known):
            each, trial = candidates[k], known[k]
            beside = [other.rank for one, other in kept if one.place == each.place]
            alike = any(rank[1] - trial.rank[1] < 10 * ALIKE for rank in beside)
            if not beside or (len(beside) < EACH and not alike):
                kept.append((each, trial))
        return kept[: 1 if self.interrupted else SOLVED]

    def _try(
        self, candidates: Sequence[Candidate], trials: dict[int, Trial], steps: float = math.inf
    ) -> None:
        """Try candidates for so many steps; those that fit are in `trials`, by their number."""
        which = "most promising candidate" if steps == math.inf else "candidate"
        series, asked = Series(which, len(candidates)), self.result.scenario.written
        items = (replace(asked, source=each.text, places=None) for each in candidates)
        task, first = partial(tried, steps=steps), steps < math.inf
        with closing(self.workers.results(items, task, task, series)) as results:
            for k, trial in results:
                self.tried += first
                if trial is not None:
                    trials[k] = trial
                found = [each.rank[1] for each in trials.values() if each.rank[0]]
                series.step(max(found, default=None))

    def _solved(self, candidates: Sequence[tuple[Candidate, Trial]]) -> Iterator[Grown]:
        """Yield candidates solved, as long as there is time; one of them in any case."""
        found = list[Grown]()
        for number, (each, trial) in enumerate(candidates, start=1):
            best = max((line.rank[3] for line in found if line.accepted), default=None)
            activity.at(f"solving {number} of {len(candidates)}, {each.what}", best)
            self._within(self._left, partial(self._one, each, trial, found))
            if (self.interrupted or not self._left) and (found or number > 1):
                break
        self.complete = self.complete and self._left > 0.0
        yield from found

    def _one(self, each: Candidate, trial: Trial, found: list[Grown]) -> None:
        """Add a candidate to those that are solved."""
        asked = read_again(
            replace(self.result.scenario.written, source=trial.text, places=None), {}
        )
        how = replace(self.how, seconds=self._left)
        if self.interrupted or not self._left:
            how = replace(how, seconds=math.inf, count=1)
        with activity.within():
            line = grown(
                asked, each.what, each.material, self.base.given, how, exact=self.result.exact
            )
        found.append(line)

    def _within(self, seconds: float, work: Callable[[], None]) -> None:
        """Do some work; note if it was stopped, after so many seconds or by Ctrl-C.

        Raises KeyboardInterrupt on another Ctrl-C.
        """
        with stopping.limited(seconds or math.inf):
            try:
                work()
            except KeyboardInterrupt:
                late = stopping.time_is_up()
                if self.interrupted and not late:
                    raise
                self.complete, self.interrupted = False, not late
                stopping.heard()
            except UndecidedError:  # no mould in the time that was left
                self.complete = False
            except (InputError, SolverError):  # no mould, or none that measures up
                pass


def _first(trials: Mapping[int, Trial]) -> list[int]:
    """Return the numbers of trials, the most promising first."""
    return sorted(trials, key=lambda k: (trials[k].rank, -k), reverse=True)
