"""What opens and what closes a page: whose it is, and what is said below every result."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.paper.document import Block, Heading, Notes, Page, Paragraph, Tone
from optimizer.questions.line_up.page import AS_DRAWN
from optimizer.scenario.scenario import Scenario


def titled(scenario: Scenario) -> str:
    """Return the name and the revision of a scenario."""
    return f"{scenario.name}, revision {scenario.revision}"


def stated(scenario: Scenario, words: str, tone: Tone) -> Paragraph:
    """Return the line that a page begins with: whose it is, and what came of it."""
    return Paragraph(f"{titled(scenario)}: {words}", tone)


def chapter(name: str, heading: str) -> Iterator[Block]:
    """Yield what begins a page of its own: its name, and the heading on it."""
    yield Page(name)
    yield Heading(heading)


def closing(warnings: Sequence[str] = ()) -> Iterator[Block]:
    """Yield the warnings, where there are any, and what the figures are computed for."""
    if warnings:
        yield Notes(tuple(f"Warning: {warning}" for warning in warnings), "warning")
    yield Paragraph(AS_DRAWN, "quiet")
