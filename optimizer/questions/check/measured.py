"""The measured balls on the screen of `check`: their figures, and RGs about both points."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from optimizer.paper.axis_words import axis_place
from optimizer.paper.document import Block, Column, Heading, Notes, Table, left
from optimizer.paper.quantities import Units
from optimizer.paper.words import POINT
from optimizer.questions.check.checking import Check
from optimizer.questions.line_up.page import axis_notes
from optimizer.questions.line_up.table import line_up_table


def measured_blocks(check: Check, names: Mapping[str, str], units: Units) -> Iterator[Block]:
    """Yield the figures, the RGs about both points, and their definitions."""
    yield Heading("The balls as measured")
    yield line_up_table(check.measured, check.scenario, densities=False)
    yield _both_points(check, names, units)
    balls = [weight.ball for weight in check.measured]
    arm = units.length.told(balls[0].map.arm)
    aimed = ", as the target says" if check.scenario.target else ""
    yield Notes(
        (
            f"Above, RGs are about {POINT[check.scenario.about]}{aimed}.",
            f"Top weight: static imbalance with the CG mark up, |c|·W/a at a balance arm of {arm}.",
            "CG offset: |c|, the distance of the centre of gravity from the ball's centre.",
            "Differential: high - low RG. Intermediate differential: high - intermediate RG.",
            *axis_notes(check.measured, names, units),
        )
    )


def _both_points(check: Check, names: Mapping[str, str], units: Units) -> Table:
    """Return the RGs about both points, the CG, and where the axes point, weights as columns."""
    balls = [weight.ball for weight in check.measured]
    columns = [Column(names[ball.map.label]) for ball in balls]
    if len(check.moulds) == 1 < len(balls):  # one mould and one pour: the same ball each time
        balls, columns = balls[:1], [Column("every weight")]
    rows: list[tuple[str, ...]] = []
    for point in ("cg", "centre"):
        rows.append((f"About {POINT[point]}, {units.rg.name}",))
        principals = [ball.properties.about(point) for ball in balls]
        for label in (
            "low RG",
            "intermediate RG",
            "high RG",
            "differential",
            "intermediate differential",
        ):
            attribute = label.removesuffix(" RG").replace(" ", "_")
            values = [float(getattr(principal, attribute)) for principal in principals]
            rows.append((f"  {label}", *(units.rg.number(value, 1) for value in values)))
        for k, label in ((0, "low-RG axis"), (2, "high-RG axis (PSA)")):
            rows.append((f"  {label}", *(axis_place(principal, k) for principal in principals)))
    rows.append((f"Centre of gravity, {units.length.name} (z toward the pin)",))
    for k, axis in enumerate("xyz"):
        values = [float(ball.properties.cg[k]) for ball in balls]
        rows.append((f"  {axis}", *(units.length.number(value, 1) for value in values)))
    along = [ball.properties.top_weight_along_pin(ball.map.arm) for ball in balls]
    rows.append(("Top weight along the pin, oz", *map(units.imbalance.number, along)))
    return Table((left(""), *columns), tuple(rows))
