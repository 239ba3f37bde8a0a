"""The diagnosis in the designer's words: what clashes, what alone would do, who blocks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import RADII
from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Block, Heading, Notes
from optimizer.paper.words import listed
from optimizer.questions.line_up.counting import mending_lines
from optimizer.questions.line_up.page import class_names
from optimizer.questions.why_not.changes.moves import Move
from optimizer.questions.why_not.conflict import Conflict
from optimizer.questions.why_not.diagnosis import Diagnosis
from optimizer.questions.why_not.words import claim_line, moved_words, remedy_line
from optimizer.scenario import Scenario

MOST = 6
"""Remedies that are told on a screen; --json has them all."""


def diagnosis_blocks(diagnosis: Diagnosis, result: LineupResult) -> tuple[Block, ...]:
    """Return what is said of an infeasible line-up, for its screen."""
    return tuple(_blocks(diagnosis, result))


def _blocks(diagnosis: Diagnosis, result: LineupResult) -> Iterator[Block]:
    asked, names = result.scenario, class_names(result)
    for conflict, weights in _alike(diagnosis.conflicts):
        what = (
            "These can't hold together"
            if conflict.proven
            else "No line-up was found that keeps all of these"
        )
        yield Heading(f"{what}, in {listed([names[w] for w in weights])}")
        yield Notes(tuple(claim_line(claim, result, weights) for claim in conflict.claims))
        yield Notes((_minimal(conflict, asked),))
    remedies = diagnosis.remedies[:MOST]
    mould = ", with the mould shown below" if asked.chosen else ""
    if remedies:
        ruled = " within the rulebook" if diagnosis.leaving else ""
        yield Heading(
            f"Any one of these changes would do{mould} (each was solved again)"
            if len(remedies[0].changes) == 1
            else f"No single change{ruled} was found that would do; these two together "
            f"would{mould} (solved again)"
        )
        yield Notes(
            tuple(f"{n}. {remedy_line(r, asked, names)}" for n, r in enumerate(remedies, 1))
        )
    elif diagnosis.not_enough:
        yield Heading(f"No single change was found that would do{mould}")
        yield Notes(tuple(mending_lines(asked)))
    if diagnosis.ended:
        yield Notes(tuple(_ended(diagnosis, names)))
    if diagnosis.not_enough and remedies:
        changes = "; ".join(_not_enough(diagnosis.not_enough, names))
        yield Notes((f"Not found to be enough alone: {changes}.",))
    yield Heading("Which weights can be made")
    yield Notes((*_who(diagnosis, names), *_common(diagnosis, result)))


def _ended(diagnosis: Diagnosis, names: Mapping[str, str]) -> Iterator[str]:
    """Yield what was left untried where the search for reasons and changes came to its end."""
    yield (
        "The search for reasons and changes ended at its fixed amount of work: there may be "
        "changes that are not listed."
    )
    unasked = [name for label, name in names.items() if label not in diagnosis.alone]
    if unasked:
        yield f"Not asked why: {listed(unasked)}."
    if diagnosis.untried:
        count = (
            diagnosis.untried
            + len(diagnosis.not_enough)
            + len(diagnosis.remedies)
            + len(diagnosis.leaving)
        )
        yield f"Not all changes were tried: {diagnosis.untried} of {count} were not."
    if unasked or diagnosis.untried:
        yield "To have them tried, solve fewer weights at a time, in several files."


def _common(diagnosis: Diagnosis, result: LineupResult) -> Iterator[str]:
    if diagnosis.common is not None:
        line = remedy_line(diagnosis.common, result.scenario)
        yield f"The nearest target that the whole line can share: {line}."


def _not_enough(moves: Sequence[Move], names: dict[str, str]) -> Iterator[str]:
    """Yield what doesn't do alone, class weights and materials together."""
    about: dict[str, list[str]] = {}
    for move in moves:
        about.setdefault(moved_words(move), []).append(
            names.get(move.about or "", move.about or "")
        )
    for name, things in about.items():
        yield f"{name} {listed(things)}" if any(things) else name


def _alike(conflicts: Sequence[Conflict]) -> Iterator[tuple[Conflict, list[str]]]:
    """Yield conflicts that differ by the weight only once, with all their weights."""
    groups: dict[tuple[Any, ...], tuple[Conflict, list[str]]] = {}
    for conflict in conflicts:
        alone = len(conflict.weights) == 1
        key = (
            conflict.starts,
            conflict.minimal,
            *((c.sort, None if alone else c.weight) for c in conflict.claims),
        )
        groups.setdefault(key, (conflict, []))[1].extend(conflict.weights)
    yield from groups.values()


def _minimal(conflict: Conflict, asked: Scenario) -> str:
    """Say what was shown of a conflict. Figures that it leaves open are still one for its weights.

    A weight by itself has nothing to share.
    """
    named = {c.figure for c in conflict.claims if isinstance(c, Bound) and c.side == "both"}
    figures = RADII[: len(asked.target.spans)] if asked.target and len(conflict.weights) > 1 else ()
    some = [figure.words for figure in figures if figure not in named]
    shared = f", with one {listed(some)} for all these weights" if some else ""
    if not conflict.proven:
        said, end = f"No line-up was found that keeps these together{shared}", " Not proven."
        said += f" (from {conflict.starts} starts)"
    else:
        said, end = f"Proven not to hold together{shared}", ""
    if conflict.minimal:
        return f"{said}; without any one of them a line-up was found.{end}"
    return f"{said}; some items may be unnecessary.{end}"


def _who(diagnosis: Diagnosis, names: dict[str, str]) -> Iterator[str]:
    able, unable, unknown = (
        [names[label] for label, made in diagnosis.alone.items() if made is known]
        for known in (True, False, None)
    )
    rest = f"for {listed(unknown)} no line-up was found, nor proven impossible"
    if len(able) == len(names):
        yield "Each weight can be made on its own."
    elif len(unable) == len(names):
        yield "No weight can be made, even on its own."
    elif len(unknown) == len(names):
        yield "No ball was found for any weight, even on its own; none is proven impossible."
    elif able and unable and not unknown:
        yield f"On their own, {listed(able)} can be made; {listed(unable)} can't."
    elif diagnosis.alone:
        told = [f"{listed(able)} can be made"] if able else []
        told += [f"{listed(unable)} can't be made"] if unable else []
        told += [rest] if unknown else []
        yield f"On their own, {', '.join(told)}."
    if len(diagnosis.together) > 1 and len(diagnosis.together) < len(able):
        together = listed([names[label] for label in diagnosis.together])
        yield f"Together, {together} can be made as one line."
