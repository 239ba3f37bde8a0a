"""A control chart for each material's parts: what each ball's density is off by, in order.

Individuals with limits at three standard deviations, which follow from the mean of the moving
ranges ÷ d₂ = 1.128, that of two values (Shewhart; ISO 7870-2, from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.paper.document import Pictures, panels
from optimizer.paper.pictures.picture import BOLD, HALO, Picture, as_name, cut, text
from optimizer.paper.pictures.sheet import Sheet
from optimizer.paper.pictures.signs import sign
from optimizer.paper.pictures.small_plot import MIDDLE, SMALL, beside, small_axes
from optimizer.paper.pictures.ticks import Frame, ticks, wider
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import listed
from optimizer.questions.line_up.frame import titled
from optimizer.questions.reconcile.finding import Reconciled
from optimizer.questions.reconcile.learning.learned import FEWEST
from optimizer.spread.adjustment import BEYOND
from shared.arrays import Array

TOLD: Final = 0.7
"""Of its standard deviation before: what an estimate must be narrowed to, to be in a chart."""
D2: Final = 1.128
"""The mean range of two values from one normal distribution, in standard deviations."""
SIGMAS: Final = 3.0
ROUGH: Final = 20
"""Fewer points set rough limits (common practice)."""
WIDE, HEIGHT, LEFT, RIGHT, TOP, TALL = 470.0, 316.0, 74.0, 318.0, 50.0, 208.0
"""px: of a picture; from its left edge to the plot's sides; down to the plot; the plot's height."""
ALONG: Final = 8
"""The most names along the axis."""
INSIDE, OUTSIDE = 0, 3
"""Signs of points: a full circle, an open diamond."""


@dataclass(frozen=True)
class Point:
    """What a ball or, where the file names it, a batch is off by, g/cm³, and its uncertainty."""

    name: str
    off: float
    sd: float


@dataclass(frozen=True)
class Control:
    """The chart of one part: its points in order, their mean, and the limits about it."""

    material: str
    part: str
    points: tuple[Point, ...]

    @property
    def offs(self) -> Array:
        """What each point is off by (n,)."""
        return np.array([point.off for point in self.points])

    @property
    def mean(self) -> float:
        """The centre line."""
        return float(self.offs.mean())

    @property
    def limits(self) -> tuple[float, float]:
        """The lower and the upper limit."""
        reach = SIGMAS * float(np.abs(np.diff(self.offs)).mean()) / D2
        return self.mean - reach, self.mean + reach

    @property
    def beyond(self) -> tuple[Point, ...]:
        """The points beyond a limit."""
        low, high = self.limits
        return tuple(point for point in self.points if not low <= point.off <= high)


def controls(found: Reconciled) -> tuple[Control, ...]:
    """Return a chart for each part whose densities the readings tell, of three points or more.

    Those of one material are side by side, in the order of the file.
    """
    if found.aimed.lineup is None:
        return ()
    materials = list(dict.fromkeys(pour.material for pour in found.scenario.pours))
    pours = sorted(found.scenario.pours, key=lambda pour: materials.index(pour.material))
    each = (Control(p.material, p.part, tuple(_points(found, p.part))) for p in pours)
    return tuple(control for control in each if len(control.points) >= FEWEST)


def _points(found: Reconciled, part: str) -> Iterator[Point]:
    """Yield a point for each batch, in the order of the file; a ball without one is one."""
    groups = dict[tuple[str, str], list[Point]]()
    for each in found.balls:
        batch = each.ball.batches.get(part)
        key = ("ball", each.ball.name) if batch is None else ("batch", batch)
        for poured in each.parts:
            if poured.part == part and poured.narrowed <= TOLD:
                off = poured.estimate - poured.aimed
                groups.setdefault(key, []).append(Point(key[1], off, poured.sd))
    for (_, name), points in groups.items():
        mean = float(np.mean([point.off for point in points]))
        yield Point(name, mean, max(point.sd for point in points))


def control_charts(found: Reconciled) -> Pictures | None:
    """Return the charts; None where the readings tell too little of every density."""
    every, unit = controls(found), Units.of(found.scenario).density
    if not every:
        return None
    return panels(
        "control",
        f"{titled(found.scenario)}: control charts of the densities",
        tuple(_picture(control, unit) for control in every),
        " ".join(_caption(found, every)),
        across=2,
    )


def _caption(found: Reconciled, every: Sequence[Control]) -> Iterator[str]:
    yield (
        "What each casting's density, as estimated, is over the one aimed at, in the order of the "
        "file; bars are 95 % intervals. The limits are three standard deviations from the mean, "
        "by the mean moving range ÷ 1.128: a point beyond them, an open diamond, has its own cause."
    )
    if any(
        part in each.ball.batches
        for each in found.balls
        for part in each.ball.model.ball.map.places
    ):
        yield "Where the file names batches, a point is a batch."
    if min(len(control.points) for control in every) < ROUGH:
        yield f"Fewer than {ROUGH} points set rough limits."
    shown = {control.part for control in every}
    rest = [pour.part for pour in found.scenario.pours if pour.part not in shown]
    if rest:
        yield f"Not shown, since the readings hardly tell them or are too few: {listed(rest)}."


def _picture(control: Control, unit: Unit) -> Picture:
    low, high = control.limits
    sheet = _sheet(control, unit)
    names = [cut(point.name, 6) for point in control.points]
    along = [names[round(k)] for k in sheet.frame.along]
    about = (
        f"mean {unit.signed(control.mean, 0)}, limits {unit.signed(low, 0)} and "
        f"{unit.signed(high, 0)} {unit.name}; "
        + "; ".join(f"{p.name}: {unit.signed(p.off, 0)}" for p in control.points)
        + (
            f"; beyond the limits: {listed([p.name for p in control.beyond])}."
            if control.beyond
            else "."
        )
    )
    title = f"{control.part} ({control.material})"
    body = (
        text(8, 20, cut(title, 44), f"font-size='15' {BOLD}"),
        text(8, TOP - 10, f"over the density aimed at, {unit.name}", SMALL),
        *small_axes(sheet, along, [_tick(tick, unit) for tick in sheet.frame.beside]),
        text((LEFT + RIGHT) / 2, TOP + TALL + 36, "ball or batch, as in the file", MIDDLE),
        *_lines(control, sheet, unit),
        *_signs(control, sheet),
    )
    return Picture(f"control-{as_name(control.part)}", title, about, WIDE, HEIGHT, body)


def _tick(value: float, unit: Unit) -> str:
    number = unit.signed(value, 0)
    return number if float(number) else "0"


def _sheet(control: Control, unit: Unit) -> Sheet:
    """Return the plot: points along it, and up it all that is drawn, the density aimed at too."""
    reach = [BEYOND * point.sd for point in control.points]
    ends = [0.0, *control.limits, *(control.offs - reach), *(control.offs + reach)]
    up = wider((min(ends), max(ends)), 10.0**-unit.digits * unit.factor)
    count = len(control.points)
    along = tuple(float(k) for k in range(0, count, -(-count // ALONG)))
    return Sheet(
        Frame((-0.6, count - 0.4), up, along, ticks(up, unit.factor)), LEFT, RIGHT, TOP, TALL
    )


def _lines(control: Control, sheet: Sheet, unit: Unit) -> Iterator[str]:
    """Yield the mean, its limits and the density aimed at, each named beside the plot."""
    low, high = control.limits
    lines = (
        (high, f"upper limit {unit.signed(high, 0)}", "6 4"),
        (control.mean, f"mean {unit.signed(control.mean, 0)}", "none"),
        (low, f"lower limit {unit.signed(low, 0)}", "6 4"),
        (0.0, "aimed at", "1.5 3"),
    )
    right = sheet.frame.across[1]
    names = beside(sheet, [sheet.point(right, level) for level, _, _ in lines])
    for (level, name, dash), (height, leader) in zip(lines, names, strict=True):
        x, y = sheet.point(right, level)
        dashed = f"stroke='currentColor' stroke-width='1.2' stroke-dasharray='{dash}'"
        yield f"<path d='M {LEFT},{y:.1f} H {x:.1f}' {dashed}/>"
        yield leader
        yield text(RIGHT + 12, height + 4, name, SMALL)


def _signs(control: Control, sheet: Sheet) -> Iterator[str]:
    """Yield the points with their intervals, joined in order; those beyond the limits are named."""
    places = np.column_stack([np.arange(len(control.points)), control.offs])
    path = sheet.path(places, closed=False)
    yield f"<path d='{path}' fill='none' stroke='currentColor' stroke-opacity='.45'/>"
    for k, point in enumerate(control.points):
        reach = BEYOND * point.sd
        (x, y), (_, top) = sheet.point(k, point.off), sheet.point(k, point.off + reach)
        yield f"<path d='M {x:.1f},{top:.1f} V {2 * y - top:.1f}' stroke='currentColor'/>"
        beyond = point in control.beyond
        yield sign(OUTSIDE if beyond else INSIDE, x, y, size=1.2 if beyond else 0.8)
        if beyond:
            late = k > len(control.points) / 2
            end = "text-anchor='end'" if late else ""
            name = f"{cut(point.name, 6)} beyond"
            yield text(x + (-11 if late else 11), y + 4, name, f"{SMALL} {HALO} {end}")
