"""A file of proofs: its claims, each checked by itself.

{"format": "samespin/proof@1", "balls": {label: ball}, "claims": [claim, …]}. A claim has "about",
its own words, which aren't checked; "question"; and "none", a tree of boxes that shows that no
line-up meets the question, "some", the densities of one that does, or "fewest", how many pours one
needs at least (`groupings`). With "regions", no line-up lies outside of these regions of the plane
of low RG and differential; "reached" are points of it, each [low RG, differential, densities] met
"within" so many cm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, Final, NamedTuple

from optimizer.certificate.forms import NotProven, exact
from optimizer.certificate.groupings import Fewest, check_fewest
from optimizer.certificate.question import Ball, Question
from optimizer.certificate.tree import Checked, Region, check_empty
from optimizer.certificate.witness import Figures, check_witness

FORMAT: Final = "samespin/proof@1"
LETTERS: Final = 1000
"""The most of a text that is shown."""
MALFORMED = (KeyError, TypeError, ValueError, IndexError, AttributeError, ArithmeticError)
"""What reading data of another form raises."""


class Outcome(NamedTuple):
    """A claim and what was found: boxes, figures, the fewest pours, or what is `wrong`."""

    about: str
    balls: tuple[str, ...]
    question: Question | None
    checked: Checked | None = None
    regions: int = 0
    reached: int = 0
    figures: tuple[Figures, ...] | None = None
    wrong: str | None = None
    fewest: Fewest | None = None


def outcomes(data: Mapping[str, Any]) -> Iterator[Outcome]:
    """Yield what is found of each claim of a file. Raises NotProven for what is no such file."""
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise NotProven(f'is no file of proofs: it must say "format": "{FORMAT}"')
    try:
        balls = {label: Ball.read(ball) for label, ball in data["balls"].items()}
        claims = list(data["claims"])
    except MALFORMED as error:
        raise NotProven(_told(error)) from None
    for claim in claims:
        yield _outcome(claim, balls)


def _outcome(claim: Any, balls: Mapping[str, Ball]) -> Outcome:
    about, question = "", None
    labels: tuple[str, ...] = ()
    try:
        about = _words(claim["about"])
        labels = tuple(str(label) for label in claim["question"]["balls"])
        question = Question.read(claim["question"], balls)
        if "some" in claim:
            figures = check_witness(question, claim["some"])
            return Outcome(about, labels, question, figures=figures)
        if "fewest" in claim:
            fewest = check_fewest(question, claim["fewest"])
            return Outcome(about, labels, question, fewest=fewest)
        regions = [Region.read(region) for region in claim.get("regions", ())]
        checked = check_empty(question, claim["none"], regions)
        points = claim.get("reached", ())
        for low, apart, densities in points:
            check_witness(_at(question, low, apart, claim["within"]), densities)
        return Outcome(about, labels, question, checked, len(regions), len(points))
    except MALFORMED as error:
        return Outcome(about, labels, question, wrong=_told(error))


def _at(question: Question, low: object, apart: object, within: object) -> Question:
    """Return the question at a point of the plane."""
    off = exact(within)
    ends = [(exact(value) - off, exact(value) + off) for value in (low, apart)]
    return replace(question, figures=(ends[0], ends[1], question.figures[2]))


def _words(text: object) -> str:
    """Return a text of the file as it may be shown."""
    if not isinstance(text, str):
        raise NotProven("words that are none")
    return "".join(c if c.isprintable() else "�" for c in text[:LETTERS])


def _told(error: Exception) -> str:
    if isinstance(error, NotProven):
        return str(error)
    return f"not written as a proof is ({type(error).__name__}: {str(error)[:60]})"
