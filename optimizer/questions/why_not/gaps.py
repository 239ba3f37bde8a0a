"""What keeps a line-up from its targets, as gaps between what is asked and what would be needed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice
from typing import Final

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import WEIGHT
from optimizer.lineup.claims import Claim
from optimizer.lineup.result import LineupResult
from optimizer.paper.quantities import Units
from optimizer.paper.words import counted, subject
from optimizer.questions.line_up.page import class_names
from optimizer.questions.why_not.changes.changes import Change
from optimizer.questions.why_not.changes.moves import Move
from optimizer.questions.why_not.diagnosis import Diagnosis, claim_path
from optimizer.questions.why_not.words import moved
from optimizer.scenario import Scenario
from shared.rounding import fixed
from shared.units import WEIGHTS

MOST: Final = 8
"""Rows of a group that are drawn; the rest are counted."""
MET: Final = 0.1
"""Tolerances: smaller misses aren't drawn."""


@dataclass(frozen=True)
class Gap:
    """A number line from what is `asked` to the `end` of the gap, each a word and a number.

    `way` is the side of the end: 1 above, -1 below. The end is None where no number on the line is
    enough; then `way` may be 0, either side. `offset` is the gap's length in the number's unit, in
    words; `tolerances` in tolerances.
    """

    name: str
    asked: tuple[str, str]
    end: tuple[str, str] | None
    way: int
    offset: str
    tolerances: float | None = None
    joined: bool = False

    @property
    def words(self) -> str:
        """The gap in words: "short by 0.020 in: 1.0 tolerances"."""
        return self.offset + ("" if self.tolerances is None else f": {counted(self.tolerances)}")

    @property
    def sentence(self) -> str:
        """The row in words."""
        places = ", ".join(" ".join(place) for place in (self.asked, self.end) if place)
        return f"{self.name}: {places}, {self.words}{', together with' if self.joined else ''}"


@dataclass(frozen=True)
class Group:
    """Gaps under one heading, and a note on those that aren't drawn."""

    name: str
    heading: str
    gaps: Sequence[Gap]
    more: str = ""


def groups(result: LineupResult, diagnosis: Diagnosis | None) -> Iterator[Group]:
    """Yield every group, also one that has no gaps."""
    broken = list(_broken(result))
    yield Group("broken", "Broken, whatever the densities", broken[:MOST], _more(broken))
    misses = list(_misses(result))
    yield Group("misses", "What the nearest balls miss", misses[:MOST], _more(misses))
    if diagnosis is None:
        return
    alone = all(len(remedy.changes) == 1 for remedy in diagnosis.remedies)
    heading = "Any one of these would do" if alone else "These two together would do"
    each = (list(_changed(remedy.changes, result)) for remedy in diagnosis.remedies)
    drawn = list(islice(filter(None, each), MOST))
    rest = len(diagnosis.remedies) - len(drawn)
    more = f"and {rest} more that would do" if rest else ""
    yield Group("changes", heading, list(chain(*drawn)), more)
    stuck = list(_stuck(result, diagnosis))
    yield Group("stuck", "In the conflict, not enough alone", stuck[:MOST], _more(stuck))


def _more(gaps: Sequence[Gap]) -> str:
    """Return how many gaps aren't drawn; the largest come first."""
    rest = gaps[MOST:]
    most = max((abs(gap.tolerances) for gap in rest if gap.tolerances is not None), default=None)
    size = "" if most is None else f", by at most {fixed(most, 1)} tolerances"
    return f"and {len(rest)} more{size}" if rest else ""


def _broken(result: LineupResult) -> Iterator[Gap]:
    """Yield broken limits that depend on no density, equal ones once, the farthest first."""
    units, gaps = Units.of(result.scenario), dict[str, Gap]()
    broken = () if result.infeasible is None else result.infeasible.broken
    for margin in sorted(broken, key=lambda m: (m.tolerances or 0.0, m.slack)):
        unit, least = units.limit(margin), margin.bound.side == "min"
        amount = unit.told(abs(margin.slack))
        gap = Gap(
            subject(margin),
            ("at least" if least else "at most", unit.number(margin.edge)),
            ("drawn", unit.number(margin.value)),
            -1 if least else 1,
            f"{'short' if least else 'over'} by {amount}",
            margin.tolerances,
        )
        gaps.setdefault(gap.sentence, gap)
    yield from gaps.values()


def _misses(result: LineupResult) -> Iterator[Gap]:
    """Yield how far the nearest balls are off their targets, the farthest first."""
    units, names = Units.of(result.scenario), class_names(result)
    off = [
        (abs(deviation.tolerances), names[weight.label], deviation)
        for weight in result.weights
        for deviation in weight.deviations
        if deviation.tolerances is not None and abs(deviation.tolerances) > MET
    ]
    alike: dict[str, tuple[list[str], Gap]] = {}
    for size, name, deviation in sorted(off, key=lambda item: -item[0]):
        unit = units.by(deviation.figure.quantity)
        grams = f" ({abs(deviation.off):.0f} g)" if deviation.figure == WEIGHT else ""
        short, amount = deviation.off < 0.0, unit.told(abs(deviation.off), 1)
        gap = Gap(
            deviation.figure.words,
            ("asked", unit.number(deviation.asked, 1)),
            ("nearest", unit.number(deviation.measured, 1)),
            -1 if short else 1,
            f"{'short' if short else 'over'} by {amount}{grams}",
            size,
        )
        alike.setdefault(gap.sentence, ([], gap))[0].append(name)
    for who, gap in alike.values():
        every = len(who) == len(names) > 1
        yield replace(gap, name=f"{'every weight' if every else ', '.join(who)}: {gap.name}")


def _changed(changes: Sequence[Change], result: LineupResult) -> Iterator[Gap]:
    """Yield a remedy's numbers; nothing for a change of sharing."""
    for change in changes:
        if not isinstance(change.value, int | float) or not isinstance(change.to, int | float):
            continue
        size, up = abs(change.to - change.value), change.to > change.value
        unit = f"{change.unit[:-1]}³" if change.unit.endswith("3") else change.unit
        grams = f" ({size * WEIGHTS[change.unit].size:.0f} g)" if change.unit in WEIGHTS else ""
        yield Gap(
            moved(change, class_names(result)),
            ("now", f"{change.value:g}"),
            ("would do", f"{change.to:g}"),
            1 if up else -1,
            f"{f'{size:.6g} {unit}'.rstrip()}{grams} {'higher' if up else 'lower'}",
            change.tolerances,
            joined=change is not changes[-1],
        )


def _stuck(result: LineupResult, diagnosis: Diagnosis) -> Iterator[Gap]:
    """Yield the numbers in a conflict that aren't enough alone."""
    units, asked = Units.of(result.scenario), result.scenario
    claims = [claim for conflict in diagnosis.conflicts for claim in conflict.claims]
    for move in diagnosis.not_enough:
        if not any(_asks(claim, move, asked) for claim in claims):
            continue
        ratio = move.quantity == "ratio"
        value = f"{move.value:g}" if ratio else units.by(move.quantity).exact(move.value)
        name = moved(move, class_names(result))
        yield Gap(name, ("now", value), None, move.way, "alone not enough")


def _asks(claim: Claim, move: Move, asked: Scenario) -> bool:
    """Whether a claim asks for the number of a move."""
    path = claim_path(asked, claim)
    sides = {bound.side for bound in move.loosens} - {"both"}
    one_sided = isinstance(claim, Bound) and claim.side in sides
    return move.path[: len(path)] == path and (not sides or one_sided)
