"""What is gained where the shop weighs each casting before it pours the next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.lineup.result import LineupResult
from optimizer.questions.schedule.pouring.scales import Scales
from optimizer.scatter.inputs import stated_inputs
from optimizer.scatter.line import Line
from optimizer.scatter.model import Model
from optimizer.scatter.set_points import SetPoint, gains, pouring_order, set_points
from optimizer.spread.simulation import Share, Tally
from optimizer.spread.sources import REPEATS, SEED
from shared import activity
from shared.arrays import Array

RULE: Final = (
    "Each casting is weighed before the next is poured: its mass over its volume as drawn is its "
    "density. The set-points of the castings still to come in the same ball are moved so that the "
    "target's figures come back to where they were scheduled, to first order and as nearly as they "
    "can: by least squares in units of the figures' tolerances. Of all ways to do that, the one "
    "that moves the set-points least, in units of their own standard deviations. They stay within "
    "what can be poured. Weights that share a batch or a density move together, by the mean of "
    "what their balls ask for."
)
"""How set-points are moved, in words."""
COMPARED: Final = 4
"""Scramblings for one casting weighed alone."""


@dataclass(frozen=True, eq=False)
class Outcome:
    """The share of good balls of each weight, and of lines of which all are good."""

    good: Mapping[str, Share]
    line: Share

    @property
    def mean(self) -> float:
        """The share of good balls where as many are made of each weight."""
        return sum(share.value for share in self.good.values()) / len(self.good)


@dataclass(frozen=True, eq=False)
class Weighing:
    """Balls poured as scheduled, and with set-points moved by the RULE, of the same samples.

    `open`: as scheduled. `closed`: every casting is weighed and set-points are held as exactly as
    one likes; `stepped`: on the materials' steps, all set-points rounded to them, None where there
    are none. `only[part]`: only that casting is weighed, set-points as exact as one likes, of fewer
    samples. Its keys are the castings after which something can still be moved, in pouring order.
    `together` are the parts whose set-point several weights share, with the labels of these.
    """

    open: Outcome
    closed: Outcome
    stepped: Outcome | None
    only: Mapping[str, Outcome]
    together: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def most_worth(self) -> str | None:
        """The casting that is most worth weighing by itself, None where none gains anything."""
        best = max(self.only, key=lambda part: self.only[part].mean, default=None)
        return best if best and self.only[best].mean > self.open.mean else None


@activity.within()
def weighed(result: LineupResult) -> Weighing:
    """Return what weighing the castings of a line-up does to its share of good balls."""
    scenario = result.scenario
    loop = _Loop.of(Line.of(result, stated_inputs(scenario)))
    every = frozenset(loop.worth)
    ways = {"open": _Way(), "closed": _Way(every)}
    if any(point.step for point in loop.points):
        ways["stepped"] = _Way(every, on_steps=True)
    activity.at("each casting weighed")
    found = loop.outcomes(ways, REPEATS)
    activity.at("one casting weighed")
    only = loop.outcomes({part: _Way(frozenset({part})) for part in loop.worth}, COMPARED)
    return Weighing(
        found["open"],
        found["closed"],
        found.get("stepped"),
        only,
        tuple((point.part, point.labels) for point in loop.points if len(point.labels) > 1),
    )


@dataclass(frozen=True)
class _Way:
    """Which castings are weighed, and whether set-points are held on steps."""

    weighed: frozenset[str] = frozenset()
    on_steps: bool = False


@dataclass(frozen=True, eq=False)
class _Loop:
    """A line whose castings are poured in `order`; `half_steps` are the scale's, g/cm³."""

    line: Line
    order: tuple[str, ...]
    points: tuple[SetPoint, ...]
    gains: Mapping[tuple[str, str], Array]
    half_steps: Mapping[tuple[str, str], float]

    @classmethod
    def of(cls, line: Line) -> _Loop:
        """Return the loop of a line."""
        order, points = pouring_order(line), tuple(set_points(line))
        half_steps = {
            (model.label, part): _half_step(model, part) for model in line.models for part in order
        }
        return cls(line, order, points, gains(line, order, points), half_steps)

    @property
    def worth(self) -> tuple[str, ...]:
        """The castings that vary, and after which something can be moved in the same ball."""
        return tuple(
            part
            for k, part in enumerate(self.order)
            if any(
                point.part in self.order[k + 1 :] and part in _varying(model)
                for model in self.line.models
                for point in self.points
                if model.label in point.labels
            )
        )

    def outcomes(self, ways: Mapping[str, _Way], repeats: int) -> dict[str, Outcome]:
        """Return the outcome of each way, all of the same samples."""
        labels = [model.label for model in self.line.models]
        good = {name: {label: Tally() for label in labels} for name in ways}
        lines = {name: Tally() for name in ways}
        for k, (repeat, deviations) in enumerate(self.line.inputs.sources.samples(repeats)):
            misread = self._misread(len(deviations), k)
            for name, way in ways.items():
                moved = self._moved(deviations, misread, way) if way != _Way() else deviations
                whole = np.ones(len(deviations), dtype=bool)
                for model, _, is_good in self.line.outcomes(moved):
                    good[name][model.label].add(repeat, is_good)
                    whole &= is_good
                lines[name].add(repeat, whole)
        return {
            name: Outcome({label: good[name][label].share for label in labels}, lines[name].share)
            for name in ways
        }

    def _misread(self, count: int, block: int) -> dict[tuple[str, str], Array]:
        """Return by how much the scale makes each density wrong (count,), g/cm³."""
        random = np.random.default_rng([SEED, block])
        return {
            key: half * random.uniform(-1.0, 1.0, count) for key, half in self.half_steps.items()
        }

    def _moved(
        self, deviations: Array, misread: Mapping[tuple[str, str], Array], way: _Way
    ) -> Array:
        """Return the deviations (k, d) with the moves of set-points in them.

        What is known of a casting is what it weighs; of one that isn't weighed, by how much its
        set-point was moved.
        """
        moved = deviations.copy()
        known = {m.label: np.zeros((len(moved), len(m.ball.map.places))) for m in self.line.models}
        places = {model.label: model.ball.map.places for model in self.line.models}
        for part in self.order:
            for point in self.points:
                if point.part == part:
                    each = [known[label] @ self.gains[label, part] for label in point.labels]
                    move = point.move(np.mean(each, axis=0), on_steps=way.on_steps)
                    moved[:, point.columns] += move[:, None]
                    for label in point.labels:
                        known[label][:, places[label][part]] = move
            for model in self.line.models if part in way.weighed else ():
                if part in places[model.label]:
                    read = model.weighed(moved, part) + misread[model.label, part]
                    known[model.label][:, places[model.label][part]] = read
        return moved


def _half_step(model: Model, part: str) -> float:
    """Return half a step of the shop's scale for a casting, as a density; 0 where none is named."""
    shop, place = model.scenario.text.foundry, model.ball.map.places.get(part)
    if shop is None or shop.scale is None or place is None:
        return 0.0
    volume = float(model.ball.map.volumes[place])
    step = Scales.of(shop).step(volume * float(model.ball.densities[place]))
    return float(step) / volume / 2.0


def _varying(model: Model) -> set[str | None]:
    """Return the parts of a weight whose density varies."""
    return {input_.of for input_ in model.inputs if input_.kind == "density"}
