"""Which candidate is better at what, figure by figure; none is called the best."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import Final

from optimizer.paper.document import collected
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, status_words
from optimizer.questions.compare.compare import ASKED, Candidate, Comparison, tenths
from optimizer.questions.compare.differences import differences
from optimizer.questions.compare.input_words import difference_line
from optimizer.questions.sharing.fillers import Material
from shared.rounding import fixed

CHANGES: Final = 3
"""Differences in the requirements that are named; all are listed with those of the input."""
Printed = Callable[[Candidate], str | None]
"""A figure of a candidate as printed, None where the candidate has none."""


@collected
def better_lines(comparison: Comparison) -> Iterator[str]:
    """Yield which candidates are better at what, by the printed figures."""
    able = [candidate for candidate in comparison.candidates if candidate.found]
    among = Comparison(tuple(able))
    shared, alike = among.shared, among.alike_in_weights
    if any(candidate.result.status == "within_tolerance" for candidate in able):
        yield from _line("Least off target", able, lambda each: str(each.off), "tolerances")
    yield from _line("Most room", able, _smallest, "tolerances", most=True)
    if any(_smallest(candidate) != _movable(candidate) for candidate in able):
        what = "Most room in what densities move"
        yield from _line(what, able, _movable, "tolerances", most=True)
    over = "" if alike else ", over weights that are not the same"
    yield from _line(f"Fewest pours{over}", able, lambda each: str(each.pours), "")
    yield from _line(f"Fewest moulds{over}", able, lambda each: str(each.moulds), "")
    if shared:
        which = "one ball of each weight" if alike else "one ball of each weight that all have"
        for title, words, unit in (
            ("Least filler", filler_words, "g"),
            ("Cheapest", cost_words, ""),
        ):
            held = {candidate: words(candidate.material(shared)) for candidate in able}
            yield from _line(f"{title} in {which}", able, held.__getitem__, unit)


def _smallest(candidate: Candidate) -> str | None:
    return None if candidate.smallest is None else str(tenths(candidate.smallest.tolerances))


def _movable(candidate: Candidate) -> str | None:
    return None if candidate.movable is None else str(tenths(candidate.movable.tolerances))


def _line(
    title: str, able: Sequence[Candidate], printed: Printed, unit: str, *, most: bool = False
) -> Iterator[str]:
    """Yield one line on a figure, where at least two candidates have it."""
    every = {candidate.name: printed(candidate) for candidate in able}
    known = {name: text for name, text in every.items() if text is not None}
    if len(known) < 2:
        return
    best = (max if most else min)(map(float, known.values()))
    first = [name for name, text in known.items() if float(text) == best]
    amount = f"{known[first[0]]} {unit}".rstrip()
    if len(first) == len(known):
        who = "all alike" if len(known) == len(able) else f"{listed(first)} alike"
        yield f"{title}: {who}, {amount}."
        return
    others = ", ".join(
        f"{name} {text or 'not known'}" for name, text in every.items() if name not in first
    )
    alike = " alike" if len(first) > 1 else ""
    yield f"{title}: {listed(first)}{alike}, {amount} ({others})."


def filler_words(held: Material) -> str | None:
    """Return grams of fillers as printed; None where a part's mix isn't known."""
    return None if held.unknown else fixed(held.filler, 0)


def cost_words(held: Material) -> str | None:
    """Return a cost as printed; None where it isn't known."""
    return None if held.cost is None else fixed(held.cost, 2)


def caution_lines(comparison: Comparison) -> Iterator[str]:
    """Yield what to know before candidates are compared."""
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
            reasons = _no_worse(candidate, other)
            yield f"{candidate.name} is dominated by {other.name}, which {reasons}."


def _asked_lines(comparison: Comparison) -> Iterator[str]:
    """Yield where a candidate's requirements differ from those of the first one."""
    first, units = comparison.first, Units.of(comparison.first.result.scenario)
    any_differ = False
    for candidate in comparison.candidates[1:]:
        lines = [
            difference_line(each, units)
            for each in differences(first.result.scenario, candidate.result.scenario)
            if each.path[0] in ASKED
        ]
        if lines:
            any_differ = True
            more = [f"and {len(lines) - CHANGES} more"] if len(lines) > CHANGES else []
            named = "; ".join([*lines[:CHANGES], *more])
            who = f"The requirements of {candidate.name} differ from those of {first.name}"
            yield f"{who}: {named}."
    if any_differ:
        yield (
            "A candidate is called dominated only by one with the same requirements: target, class "
            "weights and limits."
        )


def _no_worse(candidate: Candidate, other: Candidate) -> str:
    """Return how the other candidate is no worse in anything, as the rest of a sentence."""
    pours = f"fewer pours ({other.pours}, not {candidate.pours})"
    if other.pours >= candidate.pours:
        pours = f"as many pours ({candidate.pours})"
    names = ("more margin", "more margin in what densities move")
    gains: dict[tuple[Decimal, Decimal], str] = {}
    for name, ours, theirs in zip(names, candidate.rooms, other.rooms, strict=True):
        if theirs > ours:  # both margins are often the same
            gains.setdefault((ours, theirs), f"{name} ({theirs} tolerances, not {ours})")
    parts = [
        f"needs {pours}",
        f"has {listed(list(gains.values())) if gains else 'the same margins'}",
    ]
    if other.off < candidate.off:
        off = f"is nearer the target ({other.off} tolerances off, not {candidate.off})"
        parts = [off, *parts]
    return listed(parts)


def class_names(comparison: Comparison) -> dict[str, str]:
    """Return the name of each weight, such as "16 lb"."""
    every = {
        weight.label: weight.ball.map.name
        for candidate in reversed(comparison.candidates)
        for weight in candidate.result.weights
    }
    return {label: every[label] for label in comparison.labels}
