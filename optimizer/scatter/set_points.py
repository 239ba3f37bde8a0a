"""How set-points of a ball's later castings answer to what the earlier ones weigh."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.nesting import casting_order
from optimizer.scatter.line import Line
from shared.arrays import Array

SAME = 1e-9
"""Steps by which rounding may put a limit beside a step."""


def pouring_order(line: Line) -> tuple[str, ...]:
    """Return the parts of all weights in the order of casting, innermost first."""
    parts = {part.name: part for model in line.models for part in model.ball.map.parts}
    in_file = (pour.part for pour in line.models[0].scenario.pours if pour.part in parts)
    return tuple(part.name for part in casting_order([parts[name] for name in in_file]))


@dataclass(frozen=True)
class SetPoint:
    """A part's set-point that the weights `labels` have in common, and its sources' `columns`.

    It may go from `low` to `high`, g/cm³; `base` is where it is scheduled, in the first of the
    weights.
    """

    part: str
    labels: tuple[str, ...]
    columns: tuple[int, ...]
    base: float
    low: float
    high: float
    step: float | None

    @property
    def ends(self) -> tuple[float, float]:
        """The lowest and the highest it may be, on its steps where it has any."""
        if self.step is None:
            return self.low, self.high
        low, high = np.ceil(self.low / self.step - SAME), np.floor(self.high / self.step + SAME)
        return float(low * self.step), float(high * self.step)

    def move(self, asked: Array, *, on_steps: bool) -> Array:
        """Return the moves (k,) that come nearest to those `asked`."""
        points = np.clip(self.base + asked, self.low, self.high)
        if on_steps and self.step is not None:
            points = np.clip(np.round(points / self.step) * self.step, *self.ends)
        return np.asarray(points - self.base)


def set_points(line: Line) -> Iterator[SetPoint]:
    """Yield the set-points that can be moved: of densities that vary, and aren't given.

    Weights that share a batch or, as the scenario says, a density, have theirs in common.
    """
    scenario = line.models[0].scenario
    models = {model.label: model for model in line.models}
    for pour in scenario.pours:
        columns = {
            label: column
            for label, model in models.items()
            for input_, column in zip(model.inputs, model.columns, strict=True)
            if input_.kind == "density" and input_.of == pour.part
        }
        if pour.fixed or not columns:
            continue
        batches = [[label for label in columns if columns[label] == c] for c in columns.values()]
        for labels in _joined([*batches, *scenario.sharing[pour.part]]):
            own = [label for label in columns if label in labels]
            points = [float(models[label].ball.density(pour.part) or 0.0) for label in own]
            base = points[0]
            yield SetPoint(
                pour.part,
                tuple(own),
                tuple(sorted({columns[label] for label in own})),
                base,
                base + max(pour.low - point for point in points),
                base + min(pour.high - point for point in points),
                pour.step,
            )


def _joined(groups: Sequence[Sequence[str]]) -> list[set[str]]:
    """Return the groups, those with a member in common as one."""
    joined = list[set[str]]()
    for group in groups:
        apart = [other for other in joined if not other & set(group)]
        joined = [*apart, set(group).union(*(other for other in joined if other & set(group)))]
    return joined


def gains(
    line: Line, order: Sequence[str], points: Sequence[SetPoint]
) -> Mapping[tuple[str, str], Array]:
    """Return the move of each weight's set-point of each part, per g/cm³ of each part poured (n,).

    In units of their tolerances the target's figures come back as least squares can; in units of
    the densities' standard deviations the moves of this part and of those still to come are least.
    """
    asked = dict[tuple[str, str], Array]()
    for model, bands in zip(line.models, line.bands, strict=True):
        places = model.ball.map.places
        own = [(band.figure, (band.high - band.low) / 2.0) for band in bands if band.rule is None]
        slopes, sd = np.zeros((len(own), len(places))), np.zeros(len(places))
        for i, input_ in enumerate(model.inputs):
            if input_.kind == "density":
                place = places[str(input_.of)]
                sd[place] = input_.law.sd
                slopes[:, place] = [model.slopes[figure][i] / room for figure, room in own]
        later = [
            places[part]
            for part in order
            if any(point.part == part and model.label in point.labels for point in points)
        ]
        for k, place in enumerate(later):
            reach = slopes[:, later[k:]] * sd[later[k:]]
            part = model.ball.map.pours[place].part
            gain = -sd[place] * (np.linalg.pinv(reach) @ slopes)[0]
            gain[later[k:]] = 0.0
            asked[model.label, part] = gain
    return asked
