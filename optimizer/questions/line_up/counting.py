"""Equations against free densities: a necessary count, not a proof."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.paper.words import listed, plural
from optimizer.scenario.scenario import Scenario


def targets(scenario: Scenario) -> tuple[str, ...]:
    """Return the names of the targets that every weight must meet."""
    return ("weight", *(figure.words.removeprefix("low ") for figure in scenario.target))


def free_parts(scenario: Scenario) -> tuple[str, ...]:
    """Return the parts with a free density."""
    return tuple(pour.part for pour in scenario.pours if not pour.fixed)


def free_by_weight(scenario: Scenario) -> dict[tuple[str, ...], tuple[str, ...]]:
    """Return the labels of the weights that have the same free parts, by those parts."""
    labels = dict[tuple[str, ...], tuple[str, ...]]()
    for drawing in scenario.classes:
        parts = tuple(pour.part for pour in scenario.poured(drawing) if not pour.fixed)
        labels[parts] = (*labels.get(parts, ()), drawing.label)
    return labels


def free_densities(scenario: Scenario) -> int:
    """Return how many densities the whole line can choose, one for each group that shares."""
    count = 0
    for part in free_parts(scenario):
        labels = scenario.standing(part)
        groups = scenario.sharing.get(part, ())
        grouped = {label for group in groups for label in group}
        count += len(groups) + sum(label not in grouped for label in labels)
    return count


def mending_lines(scenario: Scenario) -> Iterator[str]:
    """Yield what would make up for too few free densities."""
    if not scenario.too_few_free:
        return
    fixed_figures = sum(span.fixed for span in scenario.target.values())
    missing = 1 + fixed_figures - scenario.fewest_free
    fixed = [pour.part for pour in scenario.pours if pour.fixed]
    ranges = f"; {listed(fixed)}, now fixed, would count once given a range" if fixed else ""
    yield (
        f"What would do it: at least {plural(missing, 'more density', 'more densities')} that may "
        "differ from weight to weight, as one more pour each brings (a mantle around the block, an "
        f"insert in it){ranges}."
    )


def count_lines(scenario: Scenario) -> Iterator[str]:
    """Yield the count where free densities are too few; each free target offsets one equation."""
    aims, by_weight = targets(scenario), free_by_weight(scenario)
    loose = sum(not span.fixed for span in scenario.target.values())
    verdict = "in general too few; a necessary count, not a proof."
    asked = f"{plural(len(aims), 'target')} ({listed(aims)})"
    if scenario.too_few_free:
        fewest = scenario.fewest_free
        few = [
            each for parts, labels in by_weight.items() for each in labels if len(parts) == fewest
        ]
        where = "in every weight" if len(few) == len(scenario.classes) else f"in {listed(few)}"
        densities = plural(fewest, "free density", "free densities")
        yield f"Count: {asked} and {densities} {where}: {verdict}"
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
