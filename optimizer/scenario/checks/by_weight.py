"""Mistakes found weight by weight, each reported once, with its weights unless all share it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from optimizer.scenario.checks.mistakes import Mistake, quoted
from optimizer.scenario.source.content import Content, part_labels, standing


def by_weight(mistakes: Mapping[str, Iterable[Mistake]], content: Content) -> list[Mistake]:
    """Return each mistake once, with its weights unless all that have the part share it."""
    where, parts = standing(content), part_labels(content)

    def there(mistake: Mistake) -> Collection[str]:
        return where.get(parts.get(mistake.path[:2], "")) or mistakes.keys()

    labels: dict[Mistake, list[str]] = {}
    for label, wrong in mistakes.items():
        for mistake in dict.fromkeys(wrong):
            if label in there(mistake):
                labels.setdefault(mistake, []).append(label)
    return [
        mistake
        if len(having) == len(there(mistake))
        else replace(mistake, what=f"{mistake.what}, in weight {quoted(having)}")
        for mistake, having in labels.items()
    ]
