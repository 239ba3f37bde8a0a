"""The figures of one ball, worked for a pocket calculator, and computed a second way."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometry.mass_properties import MassProperties
from geometry.moments import Moments
from geometry.parts import Part
from geometry.regions import regions
from optimizer.ball.weight_class import Ball
from optimizer.paper.document import Block, Heading, Listed, Notes, Paragraph, Table
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import POINT
from optimizer.questions.schedule.pouring.worksheet import Worksheet, worksheet
from optimizer.questions.schedule.proof import proof_notes, proof_table
from optimizer.scenario.scenario import Scenario

ALIKE = 1e-9
"""Relative to a figure: smaller differences are rounding."""
FINER = 3
"""More digits than a figure usually has."""


@dataclass(frozen=True)
class Figure:
    """One figure computed both ways, in g or cm, and the unit it is printed in."""

    name: str
    first: float
    second: float
    unit: Unit

    @property
    def apart(self) -> str:
        """The difference of the two, in words."""
        off, size = abs(self.first - self.second), max(abs(self.first), 1.0)
        if off < ALIKE * size:
            return f"under {ALIKE:.0e} of it"
        return f"{off / self.unit.factor:.1e} {self.unit.name}"


def proof_blocks(ball: Ball, scenario: Scenario) -> Iterator[Block]:
    """Yield the worksheet of a ball, notes on it, and the second computation."""
    sheet, density = worksheet(ball), Units.of(scenario).density
    yield Heading("What is in the ball, innermost first")
    yield volume_table(sheet, density)
    yield Heading("Parallel axes and sums")
    yield proof_table(sheet, metric=scenario.text.units.rg != "in")
    yield Notes(tuple(proof_notes(density, aligned=sheet.aligned)))
    yield Heading("Computed a second way")
    yield second_table(ball, scenario)
    yield Paragraph(
        "The first column sums density times the shapes' own moments over the pours, as everywhere "
        "in this report. The second uses none of those formulas: it integrates over the surfaces "
        "alone (the divergence theorem, Gauss-Legendre quadrature)."
    )


def volume_table(sheet: Worksheet, density: Unit) -> Table:
    """Return volume × density = mass of each pour, and the running sum."""
    return (
        Listed(sheet.regions)
        .left("part", lambda r: r.part)
        .left("material", lambda r: r.pour.material)
        .right("volume, cm³", lambda r: str(r.volume))
        .right(f"density, {density.name}", lambda r: density.number(float(r.density)))
        .right("mass, g", lambda r: str(r.mass))
        .right("running, g", lambda r: str(r.running))
        .table
    )


def second_table(ball: Ball, scenario: Scenario) -> Table:
    """Return weight, CG and RGs by both ways, and their differences."""
    return (
        Listed([*both_ways(ball, Units.of(scenario))])
        .left("figure", lambda figure: f"{figure.name}, {figure.unit.name}")
        .right("summed", lambda figure: figure.unit.number(figure.first, FINER))
        .right("by surfaces", lambda figure: figure.unit.number(figure.second, FINER))
        .right("apart", lambda figure: figure.apart)
        .table
    )


def both_ways(ball: Ball, units: Units) -> Iterator[Figure]:
    """Yield the figures of a ball by its map, and from its surfaces."""
    ours, other = ball.properties, by_surfaces(ball)
    yield Figure("weight", ours.mass, other.mass, units.mass)
    for k, axis in enumerate("xyz"):
        yield Figure(f"CG {axis}", float(ours.cg[k]), float(other.cg[k]), units.length)
    about = ball.map.about
    radii = zip(ours.about(about).radii, other.about(about).radii, strict=True)
    for name, (first, second) in zip(("low", "intermediate", "high"), radii, strict=True):
        yield Figure(f"{name} RG about {POINT[about]}", float(first), float(second), units.rg)


def by_surfaces(ball: Ball) -> MassProperties:
    """Return the mass properties of a ball from the surfaces of its parts alone."""
    own = regions(ball.map.parts, Part.moments_by_surface)
    total = sum((r.moments.J * rho for r, rho in zip(own, ball.densities.tolist(), strict=True)))
    return MassProperties(Moments(np.asarray(total)))
