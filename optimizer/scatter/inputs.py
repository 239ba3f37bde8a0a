"""What varies in a line: each input, its distribution, and the weights that share its deviation."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

import numpy as np

from optimizer.scenario import Scenario
from optimizer.scenario.text.spread_text import LEAST, AxesSpread, SpreadOf, SpreadText, declared
from optimizer.spread.distribution import Distribution
from optimizer.spread.sources import Sources
from shared.errors import InputError, Problem
from shared.models import suggestion

Kind: TypeAlias = Literal[
    "density", "batch", "position", "tilt", "dimension", "diameter", "centre", "scale"
]
"""A density varies from batch to batch, and within a "batch"."""
AXES = "xyz"
RADIAN = float(np.radians(1.0))


@dataclass(frozen=True)
class Input:
    """A quantity that varies: of a part or a dimension `of`, along an `axis` (0 x, 1 y, 2 z).

    Weights in one of `groups` share its deviation: one batch, one mould. A weight in no group
    doesn't have it. `stated` is False where it is the declared ± of a material, read as assumed.
    It can be made as tight as `least`, a share of its present width; `price` is what holding the
    present width costs, None where that isn't said.
    """

    kind: Kind
    law: Distribution
    groups: tuple[tuple[str, ...], ...]
    of: str | None = None
    axis: int | None = None
    stated: bool = True
    least: float = LEAST
    price: float | None = None

    @property
    def name(self) -> str:
        """Its name: "mantle density", "keel position x", "diameter"."""
        words = {"batch": "density within a batch"}.get(self.kind, self.kind)
        along = None if self.axis is None else AXES[self.axis]
        return " ".join(filter(None, (self.of, words, along)))


@dataclass(frozen=True, eq=False)
class Inputs:
    """All inputs of a line, and the independent sources that move them.

    `columns[label]` are the numbers of the sources of the weight's own inputs, `own[label]`.
    """

    each: tuple[Input, ...]
    sources: Sources
    own: Mapping[str, tuple[Input, ...]]
    columns: Mapping[str, tuple[int, ...]]

    @classmethod
    def of(cls, scenario: Scenario, each: Sequence[Input], *, correlated: bool = True) -> Inputs:
        """Return the inputs with their sources: one for each group of weights.

        Unless `correlated`, the scenario's correlations are left out. Raises InputError for
        correlations that can't be.
        """
        laws = list[Distribution]()
        own: dict[str, list[Input]] = {label: [] for label in scenario.labels}
        columns: dict[str, list[int]] = {label: [] for label in scenario.labels}
        for input_ in each:
            for group in input_.groups:
                for label in group:
                    own[label].append(input_)
                    columns[label].append(len(laws))
                laws.append(input_.law)
        spread = scenario.text.spread or SpreadText()
        names = {input_.name: input_ for input_ in each}
        correlations = dict[tuple[int, int], float]()
        for k, text in enumerate(spread.correlation if correlated else ()):
            path = ("spread", "correlation", k)
            for end, name in enumerate(text.between):
                if name not in names:
                    what = "spread correlation: nothing that varies has this name"
                    told = what, suggestion(name, names), f'"{name}"'
                    raise InputError([scenario.problem((*path, "between", end), *told)])
            for label in scenario.labels:
                at = {i.name: c for i, c in zip(own[label], columns[label], strict=True)}
                pair = [at[name] for name in text.between if name in at]
                if len(set(pair)) == 2:
                    correlations[min(pair), max(pair)] = text.r
        try:
            sources = Sources(laws, correlations)
        except ValueError as error:
            place, what = ("spread", "correlation"), f"spread correlation: {error}"
            raise InputError([scenario.problem(place, what, "give smaller ones")]) from None
        return cls(
            tuple(each),
            sources,
            {label: tuple(inputs) for label, inputs in own.items()},
            {label: tuple(numbers) for label, numbers in columns.items()},
        )


def stated_inputs(scenario: Scenario) -> list[Input]:
    """Return what the scenario says that varies, densities by the ± of their materials included."""
    return list(_stated(scenario))


def _stated(scenario: Scenario) -> Iterator[Input]:
    text = scenario.text.spread or SpreadText()
    every = alone(scenario.labels)
    yield from _densities(scenario, text)
    for part, axes in text.position.items():
        yield from _along("position", axes, text, alone(scenario.standing(part)), part)
    for part, lean in text.tilt.items():
        for axis in (0, 1):
            where = alone(scenario.standing(part))
            yield _input("tilt", lean, text, where, part, axis=axis, unit=RADIAN)
    for name, length in text.dimensions.items():
        yield _input("dimension", length, text, moulds(scenario, name), name)
    if text.diameter is not None:
        yield _input("diameter", text.diameter, text, every)
    if text.centre is not None:
        yield from _along("centre", text.centre, text, every)
    if text.scale is not None:
        yield _input("scale", text.scale, text, every)


def _input(
    kind: Kind,
    known: SpreadOf[Any],
    text: SpreadText,
    groups: tuple[tuple[str, ...], ...],
    of: str | None = None,
    *,
    axis: int | None = None,
    unit: float = 1.0,
) -> Input:
    law, least = known.distribution(text.declared, unit), known.reach(text.least_share)
    return Input(kind, law, groups, of, axis, least=least, price=known.price)


def _densities(scenario: Scenario, text: SpreadText) -> Iterator[Input]:
    """Yield the density of each part: as stated, else by the ± of its material."""
    for pour in scenario.pours:
        where, own = scenario.standing(pour.part), text.density.get(pour.part)
        if own is not None:
            groups = alone(where)
            if own.batch != "none":
                groups = (where,) if own.batch == "all" else _grouped(own.batch, where)
            yield _input("density", own, text, groups, pour.part)
            if own.within is not None:
                yield _input("batch", own.within, text, alone(where), pour.part)
        elif pour.tolerance:
            law, least = declared(pour.tolerance, text.declared), text.least_share
            yield Input("density", law, alone(where), pour.part, stated=False, least=least)


def _along(
    kind: Kind,
    axes: AxesSpread,
    text: SpreadText,
    groups: tuple[tuple[str, ...], ...],
    of: str | None = None,
) -> Iterator[Input]:
    for axis, key in enumerate(AXES):
        length = getattr(axes, key)
        if length is not None:
            yield _input(kind, length, text, groups, of, axis=axis)


def alone(labels: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """Return each weight as a group of its own."""
    return tuple((label,) for label in labels)


def _grouped(groups: Sequence[Sequence[str]], where: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """Return the groups, and each weight that is in none of them by itself."""
    grouped = [label for group in groups for label in group]
    return (
        *(tuple(label for label in group if label in where) for group in groups),
        *((label,) for label in where if label not in grouped),
    )


def moulds(scenario: Scenario, name: str) -> tuple[tuple[str, ...], ...]:
    """Return the weights that have a dimension, those of one value together: one mould."""
    moulds: dict[float, list[str]] = {}
    for label in scenario.having(name):
        moulds.setdefault(scenario.named(label)[name], []).append(label)
    return tuple(map(tuple, moulds.values()))


def problem(scenario: Scenario, what: str, instead: str) -> InputError:
    """Return an error about the scenario as a whole."""
    return InputError([Problem(what, instead=instead, file=scenario.file)])
