"""What a line-up is short of, as gaps: what is asked of a number, and what would have to be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
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
"""Tolerances: a miss that is smaller isn't drawn."""


@dataclass(frozen=True)
class Gap:
    """What is asked on a number line, and the other place: each its word and its number.

    `way` is where the other lies: 1 above, -1 below. It is None where nothing on the line will do:
    then it has no number, and may be to either side (0). `tolerances` is how far it is.
    """

    name: str
    asked: tuple[str, str]
    other: tuple[str, str] | None
    way: int
    words: str
    tolerances: float | None = None
    joined: bool = False

    @property
    def told(self) -> str:
        """The row in words."""
        places = (self.asked, *(() if self.other is None else (self.other,)))
        told = ", ".join(" ".join(place) for place in places)
        return f"{self.name}: {told}, {self.words}{', together with' if self.joined else ''}"


@dataclass(frozen=True)
class Group:
    """Gaps under one heading, and what is said of those that aren't drawn."""

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
    drawn = [gaps for r in diagnosis.remedies if (gaps := tuple(_changed(r.changes, result)))][
        :MOST
    ]
    rest = len(diagnosis.remedies) - len(drawn)
    more = f"and {rest} more that would do" if rest else ""
    yield Group("changes", heading, [gap for gaps in drawn for gap in gaps], more)
    stuck = list(_stuck(result, diagnosis))
    yield Group("stuck", "In the conflict, not enough alone", stuck[:MOST], _more(stuck))


def _more(gaps: Sequence[Gap]) -> str:
    """Return how many gaps aren't drawn; they come the largest first."""
    rest = gaps[MOST:]
    most = max((abs(gap.tolerances) for gap in rest if gap.tolerances is not None), default=None)
    told = "" if most is None else f", by at most {fixed(most, 1)} tolerances"
    return f"and {len(rest)} more{told}" if rest else ""


def _size(tolerances: float | None) -> str:
    return "" if tolerances is None else f": {counted(tolerances)}"


def _broken(result: LineupResult) -> Iterator[Gap]:
    """Yield limits that no density moves, the same in several weights once, the farthest first."""
    units, gaps = Units.of(result.scenario), dict[str, Gap]()
    broken = () if result.infeasible is None else result.infeasible.broken
    for margin in sorted(broken, key=lambda m: (m.tolerances or 0.0, m.slack)):
        unit, least = units.limit(margin), margin.bound.side == "min"
        gap = Gap(
            subject(margin),
            ("at least" if least else "at most", unit.number(margin.edge)),
            ("drawn", unit.number(margin.value)),
            -1 if least else 1,
            f"{'short' if least else 'over'} by {unit.told(abs(margin.slack))}"
            + _size(margin.tolerances),
            margin.tolerances,
        )
        gaps.setdefault(gap.told, gap)
    yield from gaps.values()


def _misses(result: LineupResult) -> Iterator[Gap]:
    """Yield how far the nearest balls are off their targets, the farthest first."""
    units, names = Units.of(result.scenario), class_names(result)
    off = [
        (abs(deviation.tolerances), k, weight.label, deviation)
        for k, weight in enumerate(result.weights)
        for deviation in weight.deviations
        if deviation.tolerances is not None and abs(deviation.tolerances) > MET
    ]
    told: dict[str, tuple[list[str], Gap]] = {}
    for size, _, label, deviation in sorted(off, key=lambda item: (-item[0], item[1])):
        unit = units.by(deviation.figure.quantity)
        grams = f" ({abs(deviation.off):.0f} g)" if deviation.figure == WEIGHT else ""
        gap = Gap(
            deviation.figure.words,
            ("asked", unit.number(deviation.asked, 1)),
            ("nearest", unit.number(deviation.measured, 1)),
            -1 if deviation.off < 0.0 else 1,
            f"{'short' if deviation.off < 0.0 else 'over'} by "
            f"{unit.told(abs(deviation.off), 1)}{grams}{_size(size)}",
            size,
        )
        told.setdefault(gap.told, ([], gap))[0].append(names[label])
    for who, gap in told.values():
        every = len(who) == len(names) > 1
        yield replace(gap, name=f"{'every weight' if every else ', '.join(who)}: {gap.name}")


def _changed(changes: Sequence[Change], result: LineupResult) -> Iterator[Gap]:
    """Yield a remedy's numbers; nothing for one of which weights share a density."""
    for change, last in zip(changes, (*(False for _ in changes[1:]), True), strict=True):
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
            f"{size:.6g} {unit}".rstrip()
            + f"{grams} {'higher' if up else 'lower'}{_size(change.tolerances)}",
            change.tolerances,
            joined=not last,
        )


def _stuck(result: LineupResult, diagnosis: Diagnosis) -> Iterator[Gap]:
    """Yield the numbers in a conflict that alone don't do."""
    units, asked = Units.of(result.scenario), result.scenario
    claims = [claim for conflict in diagnosis.conflicts for claim in conflict.claims]
    for move in diagnosis.not_enough:
        if not any(_asks(claim, move, asked) for claim in claims):
            continue
        told = f"{move.value:g}"
        if move.quantity != "ratio":
            told = units.by(move.quantity).exact(move.value)
        yield Gap(
            moved(move, class_names(result)), ("now", told), None, move.way, "alone not enough"
        )


def _asks(claim: Claim, move: Move, asked: Scenario) -> bool:
    """Whether a move is one of the number that a claim asks for."""
    path = claim_path(asked, claim)
    sides = {bound.side for bound in move.loosens} - {"both"}
    one_sided = isinstance(claim, Bound) and claim.side in sides
    return move.path[: len(path)] == path and (not sides or one_sided)
