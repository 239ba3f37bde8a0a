"""The page of a spread: the share of good balls, what makes it, and what would change it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from optimizer.paper.document import (
    Block,
    Column,
    Heading,
    Notes,
    Paragraph,
    Pictures,
    Table,
    Tone,
)
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, plural
from optimizer.questions.line_up.frame import closing, stated, warned
from optimizer.questions.line_up.page import class_names
from optimizer.questions.line_up.warnings import result_warnings
from optimizer.questions.tolerance.details import between, figures, levers, not_counted, told
from optimizer.questions.tolerance.finding import LineSpread
from optimizer.questions.tolerance.pictures import cloud_picture, shares_picture
from optimizer.questions.tolerance.words import (
    disagreement,
    interval,
    known,
    law,
    percent,
    together,
)
from optimizer.scatter.inputs import Input
from shared.rounding import fixed

WAYS = {
    "uniform": "as its ends, anything within equally likely",
    "2 sigma": "as two standard deviations of a normal distribution",
    "3 sigma": "as three standard deviations of a normal distribution",
}
NOTHING = 1e-9
"""A smaller share of a variance is rounding: the figure doesn't depend on the input."""
FAIR = 0.9
"""A smaller share of good balls is a warning."""


def tolerance_blocks(
    found: LineSpread, more: Iterable[Block] = (), *, whole: bool = False
) -> tuple[Block, ...]:
    """Return the page, with what else was asked for.

    For a file it is `whole`, with pictures and the figures of every weight.
    """
    return (*_page(found, whole=whole), *more, *closing(result_warnings(found.result)))


def summary_blocks(found: LineSpread) -> tuple[Block, ...]:
    """Return the shares, their causes and both pictures, for a page about more."""
    return tuple(_summary(found, whole=True))


def _page(found: LineSpread, *, whole: bool) -> Iterator[Block]:
    names, units = class_names(found.result), Units.of(found.scenario)
    every = ", ".join(f"{percent(w.good)} at {names[w.label]}" for w in found.weights)
    tone: Tone = "good" if min(w.good.value for w in found.weights) >= FAIR else "warning"
    yield stated(found.scenario, f"share of good balls: {every}.", tone)
    yield from _summary(found, whole=whole)
    yield from levers(found, units)
    yield from not_counted(found, names)
    yield from between(found, names, units)
    if whole:
        for weight in found.weights:
            yield from figures(weight, names[weight.label], units)


def _summary(found: LineSpread, *, whole: bool) -> Iterator[Block]:
    names, units = class_names(found.result), Units.of(found.scenario)
    yield Paragraph(_meaning(found))
    yield from _assumed(found)
    if whole:
        yield Pictures(
            cloud_picture(found, names),
            "Each outline holds that share of a weight's balls; the box is what the target's "
            "tolerances allow.",
        )
    yield _shares(found, names)
    yield from _reasons(found, names)
    yield from _line(found)
    yield from warned([misfit.words(units) for misfit in found.misfits])
    if whole and found.inputs.each:
        yield Pictures(
            shares_picture(found), "The longer a bar, the more is gained by making it tighter."
        )
    yield from _inputs(found, units)


def _meaning(found: LineSpread) -> str:
    (first, *_) = found.weights
    asked = [band.figure for band in first.bands if band.rule is None]
    rules = ", and which keeps the rulebook" if any(b.rule for b in first.bands) else ""
    return (
        f"A good ball is one whose {listed(asked)} lie within the target's tolerances{rules}. "
        f"Simulated with {found.balls:,} balls of each weight; intervals are 95 %, of the "
        "simulation alone."
    )


def _assumed(found: LineSpread) -> Iterator[Block]:
    assumed = [input_.name for input_ in found.inputs.each if not input_.stated]
    if assumed:
        way = WAYS[found.declared]
        yield Paragraph(
            f"Assumed: the ± of {listed(assumed)} is read {way} (declared = "
            f'"{found.declared}" in [spread]).'
        )
    if not found.inputs.each:
        yield Paragraph("Nothing varies: no material has a tolerance, and [spread] says nothing.")


def _shares(found: LineSpread, names: dict[str, str]) -> Table:
    (first, *_) = found.weights
    asked = [band.figure for band in first.bands if band.rule is None]
    columns = [
        Column("weight", "left"),
        Column("good balls"),
        Column("interval, %"),
        *(Column(f"{figure} inside") for figure in asked),
        Column("rulebook kept"),
        Column("good, to first order"),
        *([] if found.stepped is None else [Column("good, on the schedule's steps")]),
    ]
    rows = []
    for weight in found.weights:
        inside = {band.figure: share for band, share in weight.inside.items() if not band.rule}
        rows.append(
            (
                names[weight.label],
                percent(weight.good),
                interval(weight.good),
                *(percent(inside[figure]) if figure in inside else "" for figure in asked),
                percent(weight.rules),
                f"{fixed(100 * weight.linear, 1)} %",
                *([] if found.stepped is None else [percent(found.stepped[weight.label])]),
            )
        )
    return Table(tuple(columns), tuple(rows))


def _reasons(found: LineSpread, names: dict[str, str]) -> Iterator[Block]:
    by_reason: dict[str, list[str]] = {}
    for weight in found.weights:
        if (why := disagreement(weight)) is not None:
            by_reason.setdefault(why, []).append(names[weight.label])
    lines = tuple(
        f"To first order the share differs at {listed(labels)}: {why}."
        for why, labels in by_reason.items()
    )
    if lines:
        yield Notes(lines, "quiet")


def _line(found: LineSpread) -> Iterator[Block]:
    if len(found.weights) > 1:
        many = plural(len(found.weights), "ball")
        yield Paragraph(
            f"Of lines of {many}, one of each weight, {percent(found.line)} are good throughout "
            f"({interval(found.line)} %)."
        )


def _inputs(found: LineSpread, units: Units) -> Iterator[Block]:
    if not found.inputs.each:
        return
    tighter = {each.input: each for each in found.tighter}
    whose = "worst weight's " if found.between else ""
    yield Heading("What varies, and what it is worth")
    columns = (
        Column("input", "left"),
        Column("how it varies", "left"),
        Column("known", "left"),
        *(Column(f"share of {figure}'s variance") for figure in told(found)),
        Column(f"half as wide: {whose}good balls"),
        *([Column("good lines")] if found.between else []),
    )
    rows = []
    for input_ in sorted(found.inputs.each, key=lambda i: -tighter[i].line.count):
        better = tighter[input_]
        worst = min(better.good.values(), key=lambda share: share.value)
        rows.append(
            (
                input_.name,
                law(input_, units),
                known(input_),
                *(_range(found, input_, figure) for figure in told(found)),
                percent(worst),
                *([percent(better.line)] if found.between else []),
            )
        )
    yield Table(columns, tuple(rows))
    if lines := together(found, class_names(found.result)):
        yield Notes(lines, "quiet")
    base = min(found.base.values(), key=lambda share: share.value)
    (best, *_) = found.tighter
    also = f", and {percent(found.base_line)} of the lines are good" if found.between else ""
    buys = "No single input, made tighter, buys more."
    if best.line.count > found.base_line.count:
        buys = f"Which single input, made tighter, buys most: {best.input.name}."
    yield Paragraph(f"As it is, {percent(base)} of the {whose}balls are good{also}. {buys}")


def _range(found: LineSpread, input_: Input, figure: str) -> str:
    """Return an input's share of a figure's variance, over the weights."""
    shares = [
        float(weight.shares[figure][k])
        for weight in found.weights
        for k, own in enumerate(weight.model.inputs)
        if own is input_
    ]
    low, high = (fixed(100 * end, 0) for end in (min(shares), max(shares)))
    if high == "0":
        return "under 1 %" if max(shares) > NOTHING else "0 %"
    if low == "0":
        return f"up to {high} %"
    return f"{low} %" if low == high else f"{low} to {high} %"
