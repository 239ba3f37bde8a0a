"""What is wrong weight by weight, told once, and where not all weights have it: in which."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from optimizer.scenario.checks.mistakes import Mistake
from optimizer.scenario.source.content import Content, part_tables, standing


def by_weight(mistakeses: Mapping[str, Iterable[Mistake]], content: Content) -> list[Mistake]:
    """Return each mistake once, with its weights unless all that have the part share it."""
    where = standing(content)
    stands = {i: where.get(str(part.get("name"))) for i, part in part_tables(content)}

    def there(mistake: Mistake) -> Collection[str]:
        match mistake.path:
            case ("parts", int(i), *_):
                return stands.get(i) or mistakeses.keys()
        return mistakeses.keys()

    labels: dict[Mistake, list[str]] = {}
    for label, wrong in mistakeses.items():
        for mistake in dict.fromkeys(wrong):
            if label in there(mistake):
                labels.setdefault(mistake, []).append(label)
    return [
        mistake
        if len(having) == len(there(mistake))
        else replace(
            mistake, what=f"{mistake.what}, in weight " + ", ".join(f'"{one}"' for one in having)
        )
        for mistake, having in labels.items()
    ]
