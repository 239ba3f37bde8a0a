"""The table of a line-up: what was picked and poured, and what is measured, weights as columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL, RADII, WEIGHT, Figure
from optimizer.lineup.result import WeightResult
from optimizer.paper.axis_words import axis_rows
from optimizer.paper.document import Column, Table, left
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import NOT_HERE
from optimizer.scenario.scenario import Scenario


def line_up_table(
    weights: Sequence[WeightResult], scenario: Scenario, *, densities: bool = True
) -> Table:
    """Return the measured figures, under the densities if wanted, weights as columns."""
    units = Units.of(scenario)
    balls = [weight.ball for weight in weights]
    names = [ball.map.name for ball in balls]
    rows: list[tuple[str, ...]] = []
    if scenario.chosen:
        rows.append((f"Dimensions picked, {scenario.text.units.length}",))
        for name, by_label in scenario.chosen.items():
            picked = (by_label.get(ball.map.label) for ball in balls)
            values = (NOT_HERE if value is None else f"{value:g}" for value in picked)
            rows.append((f"  {name}", *values))
    if densities:
        rows.append((f"Density, {units.density.name}",))
        for pour in scenario.pours:
            poured = (ball.density(pour.part) for ball in balls)
            values = (NOT_HERE if rho is None else units.density.number(rho) for rho in poured)
            rows.append((f"  {pour.part} ({pour.material})", *values))
        rows.append(("Measured from these densities",))
    for figure in FIGURES:
        rows += _figure_rows(weights, figure, units.by(figure.quantity))
    imbalance, length = units.imbalance, units.length
    rows.append(
        (f"  top weight, {imbalance.name}", *(imbalance.number(b.top_weight) for b in balls))
    )
    distances = [length.number(ball.pin_distance) for ball in balls]
    if any(float(distance) for distance in distances):
        rows.append((f"  pin distance, {length.name}", *distances))
    rows += axis_rows(balls, length)
    return Table((left(""), *(Column(name) for name in names)), tuple(rows))


FIGURES: tuple[Figure, ...] = (WEIGHT, *RADII)
"""What a line-up is told by."""


def intermediate_told(weights: Sequence[WeightResult]) -> bool:
    """Whether the intermediate differential is asked for, or not zero by the moulds' symmetry."""
    asked = any(
        deviation.figure == INTERMEDIATE_DIFFERENTIAL for w in weights for deviation in w.deviations
    )
    return asked or not all(weight.ball.map.symmetric for weight in weights)


def _figure_rows(
    weights: Sequence[WeightResult], figure: Figure, unit: Unit
) -> Iterator[tuple[str, ...]]:
    """Yield the measured figure, and how far it is off its target where it has one."""
    values = [figure.value(weight.ball) for weight in weights]
    off = [
        next((deviation.off for deviation in weight.deviations if deviation.figure == figure), None)
        for weight in weights
    ]
    asked = any(value is not None for value in off)
    if figure == INTERMEDIATE_DIFFERENTIAL and not intermediate_told(weights):
        return
    yield (f"  {figure.words}, {unit.name}", *(unit.number(value) for value in values))
    if asked:
        told = ("-" if value is None else unit.signed(value) for value in off)
        yield ("    off target by", *told)
