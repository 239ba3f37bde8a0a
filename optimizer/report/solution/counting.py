"""Equations against free densities: a count that is necessary, and proves nothing."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.report.words import listed, plural
from optimizer.scenario.scenario import Scenario


def targets(scenario: Scenario) -> tuple[str, ...]:
    """Return the names of what every weight must meet."""
    if scenario.target is None:
        return ("weight",)
    figures = ("RG", "differential", "intermediate differential")
    return ("weight", *figures[: len(scenario.target.spans)])


def free_parts(scenario: Scenario) -> tuple[str, ...]:
    """Return the parts whose density is sought."""
    return tuple(pour.part for pour in scenario.pours if not pour.fixed)


def free_densities(scenario: Scenario) -> int:
    """Return how many densities the whole line has to choose: one for each group that shares."""
    labels = [one.label for one in scenario.classes]
    count = 0
    for part in free_parts(scenario):
        groups = scenario.sharing.get(part, ())
        grouped = {label for group in groups for label in group}
        count += len(groups) + sum(label not in grouped for label in labels)
    return count


def mending_lines(scenario: Scenario) -> Iterator[str]:
    """Yield what would make the count come out even, where the free densities are too few."""
    if not scenario.too_few_free:
        return
    spans = () if scenario.target is None else scenario.target.spans
    missing = 1 + sum(span.fixed for span in spans) - len(free_parts(scenario))
    fixed = [pour.part for pour in scenario.pours if pour.fixed]
    ranges = f"; {listed(fixed)}, now fixed, would count once given a range" if fixed else ""
    yield (
        f"What would do it: at least {plural(missing, 'more density', 'more densities')} that may "
        "differ from weight to weight, as one more pour each brings (a mantle around the block, an "
        f"insert in it){ranges}."
    )


def count_lines(scenario: Scenario) -> Iterator[str]:
    """Yield the count in words, where the free densities are too few.

    A target left free is one unknown of the line: it frees one equation, not one a weight.
    """
    aims, parts = targets(scenario), free_parts(scenario)
    spans = () if scenario.target is None else scenario.target.spans
    loose = sum(not span.fixed for span in spans)
    verdict = "in general too few; a necessary count, not a proof."
    asked = f"{plural(len(aims), 'target')} ({listed(aims)})"
    if scenario.too_few_free:
        densities = plural(len(parts), "free density", "free densities")
        yield f"Count: {asked} and {densities} in every weight: {verdict}"
        return
    every, free = len(aims) * len(scenario.classes), free_densities(scenario)
    if free + loose < every:
        weights = plural(len(scenario.classes), "weight")
        densities = plural(free, "free density", "free densities")
        and_targets = f" and {plural(loose, 'free target')}" if loose else ""
        yield (
            f"Count: {asked} in {weights} are {every} equations; the line has "
            f"{densities}{and_targets}: {verdict}"
        )
