"""Which candidate is better at what, told figure by figure; none is told to be the best."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import Final

from optimizer.ball.bounds import Margin
from optimizer.paper.document import collected
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, status_words
from optimizer.questions.compare.compare import ASKED, Candidate, Comparison, told
from optimizer.questions.compare.differences import differences
from optimizer.questions.compare.input_words import difference_line
from optimizer.questions.sharing.fillers import Material
from shared.rounding import fixed

CHANGES: Final = 3
"""Differences in the requirements that are named; all of them stand with the input's."""
Count = Callable[[Candidate], str | None]
"""A figure as it is printed, None where a candidate has none."""


@collected
def better_lines(comparison: Comparison) -> Iterator[str]:
    """Yield who is better at what, to the printed digit."""
    able = [candidate for candidate in comparison.candidates if candidate.found]
    among = Comparison(tuple(able))
    shared, alike = among.shared, among.alike_in_weights
    if any(candidate.result.status == "within_tolerance" for candidate in able):
        yield from _line(
            "Least off target", able, lambda candidate: str(candidate.off), "tolerances"
        )
    smallest = {candidate.name: _tolerances(candidate.smallest) for candidate in able}
    movable = {candidate.name: _tolerances(candidate.movable) for candidate in able}
    yield from _line("Most room", able, lambda c: smallest[c.name], "tolerances", most=True)
    if movable != smallest:
        what = "Most room in what densities move"
        yield from _line(what, able, lambda c: movable[c.name], "tolerances", most=True)
    over = "" if alike else ", over weights that are not the same"
    yield from _line(f"Fewest pours{over}", able, lambda candidate: str(candidate.pours), "")
    yield from _line(f"Fewest moulds{over}", able, lambda candidate: str(candidate.moulds), "")
    if shared:
        which = "one ball of each weight" if alike else "one ball of each weight that all have"
        yield from _line(
            f"Least filler in {which}", able, lambda c: filler_told(c.material(shared)), "g"
        )
        yield from _line(f"Cheapest in {which}", able, lambda c: cost_told(c.material(shared)), "")


def _line(
    title: str, able: Sequence[Candidate], count: Count, unit: str, *, most: bool = False
) -> Iterator[str]:
    """Yield one line on a figure of those that have it, where there are at least two."""
    told_ = {candidate.name: count(candidate) for candidate in able}
    known = {name: text for name, text in told_.items() if text is not None}
    if len(known) < 2:
        return
    values = {name: float(text) for name, text in known.items()}
    best = max(values.values()) if most else min(values.values())
    first = [name for name in known if values[name] == best]
    amount = f"{known[first[0]]} {unit}".rstrip()
    if len(first) == len(known):
        who = "all alike" if len(known) == len(able) else f"{listed(first)} alike"
        yield f"{title}: {who}, {amount}."
        return
    others = ", ".join(
        f"{name} {text or 'not known'}" for name, text in told_.items() if name not in first
    )
    alike = " alike" if len(first) > 1 else ""
    yield f"{title}: {listed(first)}{alike}, {amount} ({others})."


def _tolerances(margin: Margin | None) -> str | None:
    return None if margin is None else str(told(margin))


def filler_told(held: Material) -> str | None:
    """Return grams of fillers as they are printed; None where a part's mix isn't known."""
    return None if held.unknown else fixed(held.filler, 0)


def cost_told(held: Material) -> str | None:
    """Return a cost as it is printed; None where it isn't known."""
    return None if held.cost is None else fixed(held.cost, 2)


def caution_lines(comparison: Comparison) -> Iterator[str]:
    """Yield what to know before candidates are held against each other."""
    yield from _asked_lines(comparison)
    if not comparison.alike_in_weights:
        for candidate in comparison.candidates:
            if gaps := [label for label in comparison.labels if candidate.weight(label) is None]:
                names = class_names(comparison)
                yield f"{candidate.name} has no {listed([names[label] for label in gaps])}."
    for candidate in comparison.candidates:
        if not candidate.found:
            yield (
                f"{candidate.name} is {status_words(candidate.result.status).upper()}: its figures "
                "are those of the nearest balls that can be poured, and it is not ranked."
            )
        elif candidate.result.status == "within_tolerance":
            yield (
                f"{candidate.name} is WITHIN TOLERANCE: it can't meet the target exactly; its "
                f"largest deviation is {candidate.off} of a tolerance."
            )
    for candidate in comparison.candidates:
        for other in comparison.above(candidate):
            how = _no_worse(candidate, other)
            yield f"{candidate.name} is dominated by {other.name}, which {how}."


def _asked_lines(comparison: Comparison) -> Iterator[str]:
    """Yield where a candidate's requirements differ from those of the first one."""
    first, units = comparison.first, Units.of(comparison.first.result.scenario)
    told_ = False
    for candidate in comparison.candidates[1:]:
        lines = [
            difference_line(each, units)
            for each in differences(first.result.scenario, candidate.result.scenario)
            if each.path[0] in ASKED
        ]
        more = len(lines) - len(lines[:CHANGES])
        if lines:
            told_ = True
            named = "; ".join((*lines[:CHANGES], *([f"and {more} more"] if more else [])))
            who = f"The requirements of {candidate.name} differ from those of {first.name}"
            yield f"{who}: {named}."
    if told_:
        yield (
            "A candidate is called dominated only by one with the same requirements: target, class "
            "weights and limits."
        )


def _no_worse(candidate: Candidate, other: Candidate) -> str:
    """Say how the other candidate is no worse than one in anything, as the rest of a sentence."""
    pours = f"fewer pours ({other.pours}, not {candidate.pours})"
    said = [
        f"needs {pours if other.pours < candidate.pours else f'as many pours ({candidate.pours})'}"
    ]
    if other.off < candidate.off:
        said.insert(0, f"is nearer the target ({other.off} tolerances off, not {candidate.off})")
    names = ("more margin", "more margin in what densities move")
    told: dict[tuple[Decimal, Decimal], str] = {}
    for name, ours, theirs in zip(names, candidate.rooms, other.rooms, strict=True):
        if theirs > ours:  # both margins are often the same
            told.setdefault((ours, theirs), f"{name} ({theirs} tolerances, not {ours})")
    more = list(told.values())
    said.append(f"has {listed(more)}" if more else "has the same margins")
    return listed(said)


def class_names(comparison: Comparison) -> dict[str, str]:
    """Return the name of each weight, such as "16 lb"."""
    names = dict[str, str]()
    for label in comparison.labels:
        weight = next(
            filter(None, (candidate.weight(label) for candidate in comparison.candidates))
        )
        names[label] = weight.ball.map.name
    return names
