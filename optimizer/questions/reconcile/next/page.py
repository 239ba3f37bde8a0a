"""The next pour on the page: the shop's bias, and set-points old and new side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from optimizer.paper.document import Block, Column, Heading, Notes, Paragraph, Table, left
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, margin_lines
from optimizer.questions.line_up.data import margin_data, number
from optimizer.questions.reconcile.finding import Reconciled
from optimizer.questions.reconcile.next.bias import Bias
from optimizer.questions.reconcile.next.pour import NextPour
from optimizer.questions.reconcile.words import figure_unit, give_or_take
from optimizer.questions.schedule.pouring.casting import Casting
from optimizer.questions.schedule.pouring.cautions import cautions
from optimizer.questions.tolerance.data import UNITS
from optimizer.spread.adjustment import BEYOND
from shared.units import INCH

WITHHELD = (
    "No next pour is given while something doesn't fit: mend or take out what is named above, and "
    "ask again."
)


def next_blocks(
    found: Reconciled, biases: Sequence[Bias], pours: Sequence[NextPour], *, whole: bool
) -> Iterator[Block]:
    """Yield the next pour, or why there is none; what to weigh out where the page is `whole`."""
    units = Units.of(found.scenario)
    yield Heading("The next pour, with the shop's bias taken out")
    if not found.fits:
        yield Paragraph(WITHHELD, "warning")
        return
    unit = units.density
    yield Table(
        (
            left("part"),
            Column(f"denser than aimed at, {unit.name}"),
            Column("the ± before any ball"),
            left("shown by the readings"),
        ),
        tuple(
            (
                bias.part,
                give_or_take(bias.mean, bias.sd, unit),
                unit.number(BEYOND * bias.before),
                "yes" if bias.shown else "no",
            )
            for bias in biases
        ),
    )
    yield Paragraph(
        "Half of a density's variance from batch to batch is taken to be the shop's bias, common "
        "to all its batches, and half each batch's own: so half of what was off is taken out after "
        "one ball, and more after each further one. A bias that isn't shown may be chance."
    )
    names = {label: model.ball.map.name for label, model in found.aimed.models.items()}
    yield _set_points(pours, units, names)
    yield _expected(pours, units, names)
    yield from _ends(pours, units, names)
    if whole:
        yield _weighed(pours, names)
        known = cautions()
        yield Notes((known.always, known.advice), "quiet")
    else:
        yield Paragraph("What to weigh out for it, beside what was: in a file, -o FILE.", "quiet")


def _set_points(pours: Sequence[NextPour], units: Units, names: dict[str, str]) -> Table:
    unit = units.density
    columns = (
        left("weight"),
        left("part"),
        Column(f"aimed at until now, {unit.name}"),
        Column(f"next, {unit.name}"),
        Column("change"),
    )
    rows = [
        (
            names[pour.label],
            point.part,
            unit.number(point.old),
            unit.number(point.new),
            unit.signed(point.new - point.old, 0),
        )
        for pour in pours
        for point in pour.points
    ]
    return Table(columns, tuple(rows))


def _expected(pours: Sequence[NextPour], units: Units, names: dict[str, str]) -> Table:
    """Return what is expected of balls with the bias, at the old set-points and at the new."""
    columns = (
        left("expected of a ball"),
        left("figure"),
        Column("poured as until now"),
        Column("next"),
        Column("the target allows"),
    )
    rows = []
    for pour in pours:
        for band in pour.targets:
            unit = figure_unit(band.figure, units)
            now, then = (unit.told(each[band.figure]) for each in (pour.before, pour.after))
            allowed = f"{unit.number(band.low)} to {unit.told(band.high)}"
            rows.append((names[pour.label], band.figure, now, then, allowed))
    return Table(columns, tuple(rows))


def _ends(pours: Sequence[NextPour], units: Units, names: dict[str, str]) -> Iterator[Block]:
    """Yield what can't be mixed, and what the new set-points still miss."""
    lines = [
        f"{names[pour.label]}, {point.part}: {units.density.told(point.asked)} can't be mixed, so "
        f"it is set to {units.density.told(point.new)}."
        for pour in pours
        for point in pour.points
        if point.beyond
    ]
    for pour in pours:
        missed = []
        for band in pour.missed:
            unit = figure_unit(band.figure, units)
            allowed = f"{unit.number(band.low)} to {unit.number(band.high)}"
            missed.append(f"{band.figure} {unit.told(pour.after[band.figure])}, {allowed} allowed")
        if missed:
            lines.append(f"{names[pour.label]} is still expected to miss: {listed(missed)}.")
    broken = [margin for pour in pours for margin in pour.broken]
    lines += [f"Expected to break a limit: {line}." for line in margin_lines(broken, names, units)]
    if lines:
        yield Notes(tuple(lines), "warning")


def _weighed(pours: Sequence[NextPour], names: dict[str, str]) -> Table:
    """Return what is weighed out for one ball, until now and next."""
    rows = list[tuple[str, ...]]()
    for pour in pours:
        for old, new in zip(pour.old, pour.new, strict=True):
            rows.append((names[pour.label], new.part.name, "pour", *_grams(old.poured, new.poured)))
            before, after = _lines(old), _lines(new)
            if len({*before, *after}) > 1:
                rows += [
                    (
                        names[pour.label],
                        new.part.name,
                        name,
                        before.get(name, "none"),
                        after.get(name, "none"),
                    )
                    for name in {**before, **after}
                ]
    columns = (
        left("weight"),
        left("part"),
        left("for one ball"),
        Column("until now, g"),
        Column("next, g"),
    )
    return Table(columns, tuple(rows))


def _grams(old: float, new: float) -> tuple[str, str]:
    return f"{old:g}", f"{new:g}"


def _lines(casting: Casting) -> dict[str, str]:
    return {line.ingredient: str(line.grams) for line in casting.batch.lines}


def next_data(biases: Sequence[Bias], pours: Sequence[NextPour]) -> dict[str, Any]:
    """Return the bias and the next pour as JSON types."""
    return {
        "bias_g_cm3": {
            bias.part: {
                "estimate": number(bias.mean),
                "interval": [number(end) for end in bias.interval],
                "sd_before": number(bias.before),
                "shown": bias.shown,
            }
            for bias in biases
        },
        "next_pour": [
            {
                "label": pour.label,
                "densities_g_cm3": {
                    point.part: {
                        "old": number(point.old),
                        "new": number(point.new),
                        "beyond_what_can_be_mixed": point.beyond,
                    }
                    for point in pour.points
                },
                "castings": [
                    {
                        "part": new.part.name,
                        "pour_old_g": number(old.poured),
                        "pour_new_g": number(new.poured),
                    }
                    for old, new in zip(pour.old, pour.new, strict=True)
                ],
                "expected": {
                    band.figure: {
                        "unit": _unit(band.figure)[0],
                        "old": number(pour.before[band.figure] / _unit(band.figure)[1]),
                        "new": number(pour.after[band.figure] / _unit(band.figure)[1]),
                    }
                    for band in pour.targets
                },
                "still_missed": [band.figure for band in pour.missed],
                "limits_broken": [margin_data(margin) for margin in pour.broken],
            }
            for pour in pours
        ],
    }


def _unit(figure: str) -> tuple[str, float]:
    return UNITS.get(figure, ("in", INCH))
