"""The page of first balls: what was poured, what doesn't fit, and what follows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from optimizer.paper.document import Block, Column, Heading, Notes, Paragraph, Pictures, Table, left
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, plural
from optimizer.questions.line_up.frame import closing, stated
from optimizer.questions.reconcile.finding import Reconciled
from optimizer.questions.reconcile.found import FoundBall
from optimizer.questions.reconcile.measured.measurements import FIGURES, KINDS, reading
from optimizer.questions.reconcile.pictures import bands_picture, poured_picture
from optimizer.questions.reconcile.telling import Telling
from optimizer.questions.reconcile.telling_page import telling_blocks
from optimizer.questions.reconcile.words import (
    give_or_take,
    misfit_words,
    placed,
    unit_of,
    whose_densities,
)
from optimizer.spread.adjustment import BEYOND, LIKELIER
from shared.rounding import fixed

SHOWN = 6
"""Balls in a table on the screen; a file has all."""
HARDLY = 0.8
"""Of what it was before: a standard deviation that the readings hardly narrow."""


def reconcile_blocks(
    found: Reconciled, told: Iterable[Telling], more: Iterable[Block] = (), *, whole: bool = False
) -> tuple[Block, ...]:
    """Return the page, with what else follows from the balls; for a file it is `whole`."""
    units = Units.of(found.scenario)
    balls = found.balls if whole else found.balls[:SHOWN]
    return (
        *_opening(found, units),
        *_poured(found, balls, units, whole=whole),
        *_figures(found, balls, units, whole=whole),
        *more,
        *telling_blocks(tuple(told), units, old=found.aimed.lineup is None),
        *closing(),
    )


def _opening(found: Reconciled, units: Units) -> Iterator[Block]:
    many = plural(len(found.measured.balls), "ball"), plural(len(found.measured.each), "reading")
    if found.fits:
        words = f"{' and '.join(many)} fit what was aimed at, and each other."
        if found.aimed.lineup is None:
            words = f"{' and '.join(many)} fit the drawing."
        yield stated(found.scenario, words, "good")
    else:
        yield stated(found.scenario, f"in {' and '.join(many)} something doesn't fit.", "bad")
        for stack, test in found.tests:
            if not test.passed:
                names = ", ".join(ball.name for ball in stack.balls)
                read = plural(test.freedom, "reading")
                yield Paragraph(
                    f"Ball {names}: the readings' misfit is χ² = {fixed(test.statistic, 1)}, where "
                    f"{fixed(test.limit, 1)} is the most to expect (95 %, {read})."
                )
        yield Notes(tuple(misfit_words(found, units)), "warning")
        yield from _whether_alone(found)
    yield Paragraph(_before(found))
    yield from _assumed(found, units)
    if found.measured.told:
        yield Notes(found.measured.told, "quiet")


def _whether_alone(found: Reconciled) -> Iterator[Block]:
    """Yield, for each ball that doesn't fit, whether one of its suspects alone would explain it."""
    for stack, test in found.tests:
        own = {ball.name for ball in stack.balls}
        alone = [suspect.alone for suspect in found.suspects if suspect.ball in own]
        names = ", ".join(ball.name for ball in stack.balls)
        if test.passed or not alone:
            continue
        if not any(alone):
            yield Paragraph(
                f"Ball {names}: none of these alone would explain it, so more than one is off."
            )
        elif all(alone) and len(alone) > 1:
            likely = f"none is over {LIKELIER:g} times likelier than another"
            yield Paragraph(f"Ball {names}: any of these alone would explain it, and {likely}.")


def _before(found: Reconciled) -> str:
    """Return what is taken to be known before."""
    fixed_parts = [part.part for part in found.balls[0].parts if not part.before]
    held = (
        f" Held, since nothing says that it varies: {listed(fixed_parts)}." if fixed_parts else ""
    )
    if found.aimed.lineup is None:
        return (
            "Nothing is taken to be known of the densities but what each material allows: its "
            f"middle, half of the range as one standard deviation.{held}"
        )
    whose = whose_densities(scheduled=found.aimed.scheduled)
    return (
        f"Aimed at are the densities of {whose}. Before any reading, each is taken to vary by "
        "its own spread (its material's ± or [spread]), and so is all else that [spread] names. "
        f"Intervals are 95 %, of normal spreads; uniform ones are covered more often.{held}"
    )


def _assumed(found: Reconciled, units: Units) -> Iterator[Block]:
    """Yield how well the gauges repeat where the scenario doesn't say."""
    assumed = list[str]()
    for gauge in dict.fromkeys(one.kind.gauge for one in found.measured.each):
        known = reading(found.scenario, gauge)
        if known.assumed:
            kind = next(kind for kind in KINDS.values() if kind.gauge == gauge)
            unit = unit_of(kind, units)
            words = gauge.replace("_", " ").replace("rg", "RG")
            assumed.append(f"{words} {unit.told(known.sd, 1)}")
    if assumed:
        yield Paragraph(
            f"Assumed of single readings, since [gauges] doesn't say (standard deviation; common "
            f"practice, no source): {', '.join(assumed)}."
        )


def _poured(
    found: Reconciled, balls: tuple[FoundBall, ...], units: Units, *, whole: bool
) -> Iterator[Block]:
    wide = found.aimed.lineup is None
    unit = units.density
    yield Heading("What was poured")
    columns = [
        left("ball"),
        left("weight"),
        left("part"),
        Column("taken for likely" if wide else f"aimed at, {unit.name}"),
        Column(f"poured, {unit.name}"),
        *([] if wide else [Column("more than aimed at")]),
        Column("the ± before"),
        Column("readings narrow it to"),
    ]
    rows = []
    for each in balls:
        for part in each.parts:
            off = [] if wide else [unit.signed(part.estimate - part.aimed, 0)]
            rows.append(
                (
                    _named(found, each),
                    each.ball.model.ball.map.name,
                    part.part,
                    unit.number(part.aimed),
                    give_or_take(part.estimate, part.sd, unit),
                    *off,
                    unit.number(BEYOND * part.before),
                    f"{fixed(100.0 * part.narrowed, 0)} %" if part.before else "held",
                )
            )
    if whole:
        caption = "What came, part by part and ball by ball, against what was aimed at."
        yield Pictures(poured_picture(found), caption)
    yield Table(tuple(columns), tuple(rows))
    if len(balls) < len(found.balls):
        rest = plural(len(found.balls) - len(balls), "more ball")
        yield Paragraph(f"{rest} in a file: -o FILE.", "quiet")
    yield Notes(tuple(_told_apart(balls, units)), "quiet")


def _named(found: Reconciled, each: FoundBall) -> str:
    """Return a ball's name, and that its readings don't fit: then it isn't as estimated."""
    return each.ball.name if found.ball_fits(each.ball.name) else f"{each.ball.name}, doesn't fit"


def _told_apart(balls: tuple[FoundBall, ...], units: Units) -> Iterator[str]:
    """Yield which densities the readings hardly tell, and which only together."""
    hardly: dict[str, list[str]] = {}
    for each in balls:
        dim = [
            f"{p.part} ({units.density.number(p.before)} → {units.density.number(p.sd)})"
            for p in each.parts
            if p.before and p.narrowed > HARDLY
        ]
        if dim:
            hardly.setdefault(listed(dim), []).append(each.ball.name)
    for parts, names in hardly.items():
        yield (
            f"Ball {', '.join(names)}: the readings hardly tell the density of {parts}; standard "
            f"deviations before and after, {units.density.name}."
        )
    for each in balls:
        for a, b in each.together:
            yield f"Ball {each.ball.name}: {a} and {b} can't be told apart, only what both do."


def _figures(
    found: Reconciled, balls: tuple[FoundBall, ...], units: Units, *, whole: bool
) -> Iterator[Block]:
    yield Heading("What the balls are, by all that is known of them")
    if whole and (picture := bands_picture(found)) is not None:
        yield Pictures(picture, "A ball is as the target asks where its whisker lies on the bar.")
    wide = found.aimed.lineup is None
    columns = (
        left("ball"),
        left("weight"),
        left("figure"),
        *([] if wide else [Column("by the densities aimed at")]),
        Column("estimated"),
        *([] if wide else [Column("the target allows"), left("so it is")]),
    )
    rows = []
    for each in balls:
        own = found.aimed.bands.get(each.ball.label, ())
        bands = {band.figure.lower(): band for band in own if band.rule is None}
        read = {one.kind.name for one in each.ball.readings}
        for figure in each.figures:
            if figure.name not in {*bands, *read, "top weight"}:
                continue
            unit, band = unit_of(FIGURES[figure.name], units), bands.get(figure.name)
            allowed = "" if band is None else f"{unit.number(band.low)} to {unit.told(band.high)}"
            rows.append(
                (
                    _named(found, each),
                    each.ball.model.ball.map.name,
                    figure.words,
                    *([] if wide else [unit.told(figure.aimed)]),
                    f"{give_or_take(figure.estimate, figure.sd, unit)} {unit.name}",
                    *([] if wide else [allowed, "" if band is None else placed(figure, band)]),
                )
            )
    yield Table(columns, tuple(rows))
    if any(row[-1] == "not decided" for row in rows):
        yield Paragraph(
            "Not decided: the interval reaches over an end of what is allowed.", "quiet"
        )
