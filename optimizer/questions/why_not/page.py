"""The diagnosis in the designer's words: what clashes, what would do, which weights block."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from optimizer.ball.bounds import Bound
from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Block, Heading, Notes, collected
from optimizer.paper.words import listed
from optimizer.questions.line_up.counting import mending_lines
from optimizer.questions.line_up.page import class_names
from optimizer.questions.why_not.changes.moves import Move
from optimizer.questions.why_not.conflict import Conflict
from optimizer.questions.why_not.diagnosis import Diagnosis
from optimizer.questions.why_not.words import claim_line, moved_words, remedy_line
from optimizer.scenario import Scenario

MOST = 6
"""Remedies shown on a screen; --json has them all."""


@collected
def diagnosis_blocks(diagnosis: Diagnosis, result: LineupResult) -> Iterator[Block]:
    """Yield the diagnosis of a line-up that wasn't found, for its screen."""
    asked, names = result.scenario, class_names(result)
    for conflict, weights in _alike(diagnosis.conflicts):
        unfound = "No line-up was found that keeps all of these"
        what = "These can't hold together" if conflict.proven else unfound
        yield Heading(f"{what}, in {listed([names[w] for w in weights])}")
        yield Notes(tuple(_claim_lines(conflict, weights, result, names)))
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
    common = diagnosis.common
    shared = "The nearest target that the whole line can share"
    lines = () if common is None else (f"{shared}: {remedy_line(common, asked)}.",)
    yield Notes((*_who(diagnosis, names), *lines))


def _ended(diagnosis: Diagnosis, names: Mapping[str, str]) -> Iterator[str]:
    """Yield what was left untried where the search ended at its amount of work."""
    yield (
        "The search for reasons and changes ended at its fixed amount of work: there may be "
        "changes that are not listed."
    )
    unasked = [name for label, name in names.items() if label not in diagnosis.alone]
    if unasked:
        yield f"Not examined: {listed(unasked)}."
    if diagnosis.untried:
        tried = (diagnosis.not_enough, diagnosis.remedies, diagnosis.leaving)
        count = diagnosis.untried + sum(map(len, tried))
        yield f"Not all changes were tried: {diagnosis.untried} of {count} were not."
    if unasked or diagnosis.untried:
        yield "To try them, solve fewer weights at a time, in separate files."


def _not_enough(moves: Sequence[Move], names: dict[str, str]) -> Iterator[str]:
    """Yield what isn't enough alone, class weights and materials together."""
    about: dict[str, list[str]] = {}
    for move in moves:
        subject = move.about or ""
        about.setdefault(moved_words(move), []).append(names.get(subject, subject))
    for name, subjects in about.items():
        yield f"{name} {listed(subjects)}" if any(subjects) else name


def _alike(conflicts: Sequence[Conflict]) -> Iterator[tuple[Conflict, list[str]]]:
    """Yield conflicts with all their weights; those that differ only by weight once."""
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


def _claim_lines(
    conflict: Conflict, weights: Sequence[str], result: LineupResult, names: Mapping[str, str]
) -> Iterator[str]:
    """Yield a conflict's claims; where it is between weights, each with those that it is of."""
    if len(conflict.weights) == 1:
        yield from (claim_line(claim, result, weights) for claim in conflict.claims)
        return
    own = dict[str, list[str]]()
    for claim in conflict.claims:
        of = [label for label in names if label == claim.weight]
        own.setdefault(claim_line(claim, result, of), []).extend(of)
    for words, labels in own.items():
        who = listed([name for label, name in names.items() if label in labels])
        yield f"{who}: {words}" if labels else words


def _minimal(conflict: Conflict, asked: Scenario) -> str:
    """Return what was shown of a conflict.

    Several weights still share the figures of the target that aren't among its claims.
    """
    named = {c.figure for c in conflict.claims if isinstance(c, Bound) and c.side == "both"}
    figures = tuple(asked.target) if len(conflict.weights) > 1 else ()
    unnamed = [figure.words for figure in figures if figure not in named]
    shared = f", with one {listed(unnamed)} for all these weights" if unnamed else ""
    shown, end = f"Proven not to hold together{shared}", ""
    if not conflict.proven:
        shown = f"No line-up was found that keeps these together{shared}"
        shown, end = f"{shown} (from {conflict.starts} starts)", " Not proven."
    if conflict.minimal:
        return f"{shown}; without any one of them a line-up was found.{end}"
    return f"{shown}; some items may be unnecessary.{end}"


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
        clauses = [f"{listed(able)} can be made"] if able else []
        clauses += [f"{listed(unable)} can't be made"] if unable else []
        clauses += [rest] if unknown else []
        yield f"On their own, {', '.join(clauses)}."
    if 1 < len(diagnosis.together) < len(able):
        together = listed([names[label] for label in diagnosis.together])
        yield f"Together, {together} can be made as one line."
