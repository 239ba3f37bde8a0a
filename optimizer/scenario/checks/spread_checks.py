"""Mistakes in [spread]: unknown names, and quantities that vary by more than there is of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import isfinite
from typing import Any, Final

from optimizer.ball.sought import Pour
from optimizer.scenario.checks.mistakes import Mistake
from optimizer.scenario.dimensions import part_lengths, wrong_groups
from optimizer.scenario.source.content import Content, items, named_parts, standing, table
from optimizer.scenario.source.positions import value_at
from optimizer.scenario.text.scenario_text import ScenarioText
from optimizer.scenario.text.spread_text import KINDS, AxesSpread, SpreadOf, SpreadText
from shared.models import Path, suggestion
from shared.units import UnitOf

THE_BALL: Final = {
    "position": "how far it is turned off the core goes under [spread] centre",
    "tilt": "leave it out: a sphere has no tilt",
}
"""What would be right where the ball itself is said to be out of place."""
SIGMAS: Final = 3.0
"""Standard deviations that a normal distribution is taken to reach."""


def wrong_spread(content: Content) -> Iterator[Mistake]:
    """Yield unknown parts, weights and dimensions, and correlations that say nothing."""
    yield from _parts(content)
    known = part_lengths(content, core=True)
    for name in table(content, "spread", "dimensions"):
        if name not in known:
            path: Path = ("spread", "dimensions", name)
            what, instead = "is not a dimension of a part inside the ball", sorted(known)
            yield Mistake(path, what, suggestion(name, instead), shown=False)
    seen = set[frozenset[str]]()
    for k, correlation in enumerate(items(table(content, "spread").get("correlation"))):
        path = ("spread", "correlation", k, "between")
        match correlation:
            case {"between": [str(a), str(b)]}:
                pair = frozenset((a, b))
                if a == b:
                    yield Mistake(path, "names one quantity twice", "name two")
                elif pair in seen:
                    yield Mistake(path, "is listed twice", "keep one")
                seen.add(pair)


def _parts(content: Content) -> Iterator[Mistake]:
    """Yield parts that there are none of, the ball where it can't be, and wrong batches."""
    parts, where, labels = named_parts(content), standing(content), table(content, "weights")
    for key in ("density", "position", "tilt"):
        for name, text in table(content, "spread", key).items():
            path: Path = ("spread", key, name)
            if name not in parts:
                yield Mistake(path, "is not a part", suggestion(name, parts), shown=False)
                continue
            if key in THE_BALL and "inside" not in parts[name]:
                yield Mistake(path, "is the ball itself", THE_BALL[key], shown=False)
            if isinstance(text, Mapping):
                without = "is a weight that this part is not in"
                batch = text.get("batch")
                yield from wrong_groups(batch, labels, (*path, "batch"), where[name], without)


def too_wide(
    text: ScenarioText, pours: Sequence[Pour], radius: float, content: Content
) -> Iterator[Mistake]:
    """Yield quantities that vary by more than there is of them; the ball's `radius` is in cm."""
    if text.spread is None:
        return
    seen = set[Path]()
    for path, quantity, most, of, unit in _rooms(text, text.spread, pours, radius):
        law = quantity.distribution(text.spread.declared)
        if min(law.most, SIGMAS * law.sd) <= most:
            continue
        key = next(key for key in KINDS if getattr(quantity, key) is not None)
        ends = (path[:k] for k in range(len(path), 0, -1))
        place = next(end for end in ends if value_at(content, end)[0])
        place = (*place, key) if isinstance(value_at(content, place)[1], Mapping) else place
        if place not in seen:
            seen.add(place)
            what = "is" if isfinite(law.most) else "three standard deviations are"
            what = f"{what} more than {of}, {most / unit.size:.4g} {unit.name}"
            yield Mistake(place, what, "give less; is it in the unit given in [units]?")


Room = tuple[Path, SpreadOf[Any], float, str, UnitOf]
"""A quantity's path, its spread, the most that it may be off, what that is, and its unit."""


def _rooms(
    text: ScenarioText, spread: SpreadText, pours: Sequence[Pour], radius: float
) -> Iterator[Room]:
    length, mass = text.units.by("length"), text.units.by("mass")
    yield from _densities(spread, pours, text.units.by("density"))
    lengths: list[tuple[Path, SpreadOf[Any] | None]] = [(("diameter",), spread.diameter)]
    lengths += [(("dimensions", name), size) for name, size in spread.dimensions.items()]
    placed: list[tuple[Path, AxesSpread | None]] = [(("centre",), spread.centre)]
    placed += [(("position", name), axes) for name, axes in spread.position.items()]
    for path, axes in placed:
        lengths += [((*path, axis), getattr(axes, axis, None)) for axis in "xyz"]
    for path, size in lengths:
        if size is not None:
            yield ("spread", *path), size, radius, "the ball's radius", length
    if spread.scale is not None:
        lightest = min(weight.target for weight in text.weights.values())
        yield ("spread", "scale"), spread.scale, lightest, "the lightest ball", mass


def _densities(spread: SpreadText, pours: Sequence[Pour], unit: UnitOf) -> Iterator[Room]:
    for pour in pours:
        most, of = pour.high - pour.low, "the range that can be poured"
        if pour.fixed:
            most, of = pour.low, "the density itself"
        path: Path = ("spread", "density", pour.part)
        own = spread.density.get(pour.part)
        if own is not None:
            yield path, own, most, of, unit
            if own.within is not None:
                yield (*path, "within"), own.within, most, of, unit
