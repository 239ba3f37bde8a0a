"""What a file of proofs shows, claim by claim, and from which numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any

from optimizer.certificate.claims import Outcome
from optimizer.certificate.groupings import Fewest
from optimizer.certificate.question import Limit, Question
from optimizer.paper.document import Block, Heading, Notes, Paragraph, collected
from optimizer.paper.words import listed, plural, sentence_case
from optimizer.questions.proof.file import ProofFile

LIMITS = {
    "mass": ("class weight", "g"),
    "density": ("", "g/cm³"),
    "step": ("density step", "g/cm³"),
    "imbalance": ("first moment", "g cm"),
    "mark": ("pin distance", "cm"),
    "intermediate": ("intermediate differential", "cm"),
}
"""What a limit of the checker is called, and its unit."""
FIGURES = ("low RG", "differential", "intermediate differential")


@collected
def proof_blocks(proof: ProofFile, differing: Sequence[str] | None) -> Iterator[Block]:
    """Yield the page; `differing` is where its numbers aren't the scenario's, None: unknown."""
    every = proof.outcomes
    name = f"{proof.scenario.get('name', 'no scenario')}{proof.what_if.words}"
    wrong = sum(outcome.wrong is not None for outcome in every)
    if not every:
        yield Paragraph(f"{name}: there is nothing to check.", tone="warning")
    elif wrong:
        yield Paragraph(
            f"{name}: NOT PROVEN. {wrong} of {plural(len(every), 'claim')}.", tone="bad"
        )
    else:
        yield Paragraph(f"{name}: {plural(len(every), 'claim')}, each shown.", tone="good")
    yield from _compared(proof, differing)
    for number, outcome in enumerate(every, start=1):
        yield Heading(f"{number}. {sentence_case(outcome.about)}")
        yield Notes((_found(outcome), *numbers(proof, outcome)))
    yield Paragraph(
        "Checked in exact rational arithmetic, without a solver. Moments are taken from the file, "
        "each with the error that it allows them; headings are its own words. Units are cm, g and "
        "g/cm³."
    )


def _compared(proof: ProofFile, differing: Sequence[str] | None) -> Iterator[Block]:
    of = f"SHA-256 {proof.scenario.get('sha256', 'unknown')[:12]}…"
    if differing is None:
        what = f"The numbers were not compared with a scenario ({of}): --scenario FILE does that."
        yield Paragraph(what)
    elif differing:
        yield Paragraph("The numbers are not those of the scenario:", tone="bad")
        yield Notes(tuple(differing))
    else:
        yield Paragraph(f"Moments and limits are those of the scenario ({of}).")


def _found(outcome: Outcome) -> str:
    """Return what was found of a claim."""
    who = listed(outcome.balls)
    if outcome.wrong is not None:
        return f"NOT PROVEN: {outcome.wrong}"
    if outcome.checked is not None:
        boxes, rows, _ = outcome.checked
        by = f"{plural(boxes, 'box', 'boxes')}, {plural(rows, 'row')}"
        if not outcome.regions:
            return f"proven: no line-up of {who} has all that follows ({by})"
        return (
            f"proven: no line-up of {who} with all that follows lies outside of "
            f"{plural(outcome.regions, 'region')} of low RG and differential ({by}); "
            f"{plural(outcome.reached, 'corner is', 'corners are')} reached by a line-up each"
        )
    if outcome.fewest is not None:
        return _pours(outcome.fewest, who)
    balls = zip(outcome.balls, outcome.figures or (), strict=True)
    told = (
        f"{label}: {float(ball.mass):.3f} g, RGs {', '.join(f'{float(r):.6f}' for r in ball.radii)}"
        f" cm"
        for label, ball in balls
    )
    return f"exists: a line-up of {who} with all that follows; measured, {'; '.join(told)}"


def _pours(fewest: Fewest, who: str) -> str:
    """Return what was found of the fewest pours."""
    exists = "" if fewest.found is None else f"; there is one with {fewest.found}"
    return (
        f"proven: a line-up of {who} with all that follows has at least "
        f"{plural(fewest.pours, 'different pour')} ({plural(fewest.clashes, 'clash', 'clashes')} "
        f"of places at one density, {plural(fewest.boxes, 'box', 'boxes')}; "
        f"{plural(fewest.leaves, 'branch', 'branches')}){exists}"
    )


def numbers(proof: ProofFile, outcome: Outcome) -> Iterator[str]:
    """Yield the numbers that a claim is about."""
    if (question := outcome.question) is None:
        return
    yield f"target: {'; '.join(_target(question))}"
    if question.level:
        yield f"{_number(question.level)} tolerances of room to each limit that has a tolerance"
    for k, label in enumerate(outcome.balls):
        named = proof.data["balls"][label].get("parts")
        parts = named if isinstance(named, list) else ()
        told = "; ".join(_limit(limit, parts) for limit in question.limits if limit.k == k)
        yield f"{label}: {told or 'no limit'}"
        if question.steps:
            yield f"{label}, looked at: {'; '.join(_looked_at(question, k, parts))}"
        if outcome.fewest is not None:
            pairs = zip(parts, outcome.fewest.materials[k], strict=False)
            yield f"{label}, materials: {', '.join(f'{part} {of}' for part, of in pairs)}"


def _target(question: Question) -> Iterator[str]:
    about = {True: "the centre of gravity", False: "the ball's centre"}
    points = dict.fromkeys(about[cg] for cg in question.about_cg)
    for name, ends, off in zip(FIGURES, question.figures, question.off, strict=True):
        if name != FIGURES[2] or question.asked:
            within = f", each ball within {_number(off)}" if off else ""
            yield f"{name} {_ends(*ends)} cm{within}"
    yield f"about {listed(list(points))}"
    if question.offset[0] or question.offset[1] is not None:
        yield f"CG offset {_ends(*question.offset)} cm"


def _looked_at(question: Question, k: int, parts: Sequence[Any]) -> Iterator[str]:
    """Yield the range of each density of a weight, and its step."""
    for part, j in enumerate(question.columns[k]):
        step = question.steps.get(j)
        by = f" in whole steps of {_number(step)}" if step else ""
        yield f"{_named((part,), parts)} {_ends(*question.densities[j])} g/cm³{by}"


def _limit(limit: Limit, parts: Sequence[Any]) -> str:
    words, unit = LIMITS.get(limit.of, (limit.of, ""))
    of = _named(limit.at, parts)
    room = "" if limit.tolerance is None else f" (tolerance {_number(limit.tolerance)})"
    return f"{' '.join(filter(None, (of, words)))} {_ends(limit.least, limit.most)} {unit}{room}"


def _named(at: Sequence[int], parts: Sequence[Any]) -> str:
    return "-".join(str(parts[part]) for part in at if part < len(parts))


def _ends(low: Fraction | None, high: Fraction | None) -> str:
    if low is None or high is None:
        return f"at most {_number(high)}" if high is not None else f"at least {_number(low)}"
    return _number(low) if low == high else f"{_number(low)} to {_number(high)}"


def _number(number: Fraction | None) -> str:
    return "" if number is None else f"{float(number):.7g}"
