"""What opens and closes a page: the scenario's name, and the lines below every result."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.paper.document import Block, Heading, Notes, Page, Paragraph, Tone
from optimizer.scenario.scenario import Scenario

AS_DRAWN = (
    "Computed for the shapes as drawn; cast balls scatter more (RG and differential by about ±3 %, "
    "by one published remark)."
)


def titled(scenario: Scenario) -> str:
    """Return the name and the revision of a scenario, and what was changed in its file's text."""
    return scenario.title


def stated(scenario: Scenario, words: str, tone: Tone) -> Paragraph:
    """Return a page's first line: the scenario and the outcome in `words`."""
    return Paragraph(f"{titled(scenario)}: {words}", tone)


def chapter(name: str, heading: str) -> Iterator[Block]:
    """Yield a page break with the page's name, and the heading on it."""
    yield Page(name)
    yield Heading(heading)


def warned(warnings: Sequence[str]) -> Iterator[Block]:
    """Yield the warnings, if there are any."""
    if warnings:
        yield Notes(tuple(f"Warning: {warning}" for warning in warnings), "warning")


def closing(warnings: Sequence[str] = ()) -> Iterator[Block]:
    """Yield the warnings, if any, and the note that figures are of the shapes as drawn."""
    yield from warned(warnings)
    yield Paragraph(AS_DRAWN, "quiet")
