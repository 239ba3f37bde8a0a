"""How a line is made, in words: what each part gives up or takes on from its heaviest weight."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from optimizer.lineup.result import LineupResult
from optimizer.paper.document import collected
from optimizer.paper.words import listed, sentence_case
from optimizer.questions.line_up.page import class_names
from optimizer.questions.parts.finding import Made, ends
from optimizer.questions.parts.sums import Sum, sums

MOST: Final = 4
"""Parts named in a sentence on a share: those that change most."""
Changes = Mapping[str, tuple[float, float]]
"""What each part adds to a figure in the heaviest and in the lightest weight."""


@collected
def line_sentences(result: LineupResult, every: Mapping[str, Made]) -> Iterator[str]:
    """Yield how weight, low RG² and the differentials change hands; nothing for one weight."""
    pair = ends(every)
    if pair is None:
        return
    names = class_names(result)
    heavy, light = (names[one.ball.map.label] for one in pair)
    for figure in sums(result):
        if figure.key == "weight":
            yield _weight(figure, *pair, f"From {heavy} to {light}")
        elif figure.key in {"low-rg", "differential", "intermediate-differential"}:
            yield from _shares(figure, *pair)


def _changes(figure: Sum, heavy: Made, light: Made) -> Changes:
    """Return the changes, the largest first; a part that a weight does not have adds nothing."""
    before, after = figure.by_part(heavy), figure.by_part(light)
    changes = {part: (before.get(part, 0.0), after.get(part, 0.0)) for part in before | after}
    return dict(sorted(changes.items(), key=lambda item: -abs(item[1][1] - item[1][0])))


def _weight(figure: Sum, heavy: Made, light: Made, way: str) -> str:
    unit, by_verb = figure.unit, dict[str, list[tuple[str, str]]]()
    for part, (before, after) in _changes(figure, heavy, light).items():
        kept = unit.number(before) == unit.number(after)
        verb = "keeps its" if kept else _verb(before, after)
        amount = unit.number(after if kept else abs(after - before))
        by_verb.setdefault(verb, []).append((part, amount))
    groups = [
        listed([f"the {part} {verb} {amount} {unit.name}", *(f"the {p} {a}" for p, a in others)])
        for verb, ((part, amount), *others) in by_verb.items()
    ]
    less = unit.told(figure.total(heavy) - figure.total(light))
    return f"{way}, {'; '.join(groups)}: {less} less."


def _verb(before: float, after: float) -> str:
    if not after:
        return "is left out with its"
    if not before:
        return "comes in with"
    return "gives up" if after < before else "takes on"


def _shares(figure: Sum, heavy: Made, light: Made) -> Iterator[str]:
    """Yield the sentence on a figure of which parts have shares, if any share changes."""
    number = figure.unit.number
    moved = [
        (part, before, after)
        for part, (before, after) in _changes(figure, heavy, light).items()
        if number(before) != number(after)
    ]
    words = [
        f"the {part}'s {'share ' if k == 0 else ''}{'rises' if after > before else 'falls'} "
        f"from {number(before)} to {figure.unit.told(after)}"
        for k, (part, before, after) in enumerate(moved[:MOST])
    ]
    if words:
        less = "; those of the others change less" if len(moved) > MOST else ""
        yield f"{sentence_case(figure.words)}: {listed(words)}{less}."
