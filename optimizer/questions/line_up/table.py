"""The table of a line-up: dimensions, densities and measured figures, weights as columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.ball.figures import (
    CG_OFFSET,
    INTERMEDIATE_DIFFERENTIAL,
    PIN_DISTANCE,
    RADII,
    TOP_WEIGHT,
    WEIGHT,
    Figure,
)
from optimizer.lineup.result import WeightResult
from optimizer.paper.axis_words import axis_rows
from optimizer.paper.document import Column, Table, left
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import NOT_HERE
from optimizer.scenario.scenario import Scenario


def line_up_table(
    weights: Sequence[WeightResult], scenario: Scenario, *, densities: bool = True
) -> Table:
    """Return the measured figures, with the `densities` above them if wanted."""
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
    for figure in (*figures_shown(weights), TOP_WEIGHT, CG_OFFSET, PIN_DISTANCE):
        rows += _figure_rows(weights, figure, units.by(figure.quantity))
    rows += axis_rows(balls, units.length)
    return Table((left(""), *(Column(name) for name in names)), tuple(rows))


def figures_shown(weights: Sequence[WeightResult]) -> tuple[Figure, ...]:
    """Return weight and RG figures, without an intermediate differential that means nothing.

    It does where it is asked for, or not zero by the moulds' symmetry.
    """
    asked = {deviation.figure for weight in weights for deviation in weight.deviations}
    symmetric = all(weight.ball.map.symmetric for weight in weights)
    hidden = {INTERMEDIATE_DIFFERENTIAL} - asked if symmetric else set()
    return tuple(figure for figure in (WEIGHT, *RADII) if figure not in hidden)


def _figure_rows(
    weights: Sequence[WeightResult], figure: Figure, unit: Unit
) -> Iterator[tuple[str, ...]]:
    """Yield the measured figure, and its deviation from the target where it has one.

    Nothing for a place of the CG that is the centre in every weight, unless it is asked for.
    """
    values = [unit.number(figure.value(weight.ball)) for weight in weights]
    every = [{off.figure: unit.signed(off.off) for off in weight.deviations} for weight in weights]
    asked = any(figure in off for off in every)
    if asked or figure.quantity != "length" or any(map(float, values)):
        yield (f"  {figure.words}, {unit.name}", *values)
    if asked:
        yield ("    off target by", *(off.get(figure, "-") for off in every))
