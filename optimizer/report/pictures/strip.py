"""The line-up in section: one ball a weight, all to one scale, parts filled by their density."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from geometry.parts import Part
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.report.document import Pictures
from optimizer.report.pictures.cividis import Scale, colour, scale_of
from optimizer.report.pictures.paths import path
from optimizer.report.pictures.picture import BOLD, GREY, Picture, as_name, side_by_side, text
from optimizer.report.pictures.placing import dots, spread
from optimizer.report.quantities import Units
from optimizer.report.solution.page import class_names
from optimizer.report.writers.drawing import turned

RADIUS: Final = 116.0
"""px of the largest ball's radius."""
LETTER: Final = 6.6
"""px for a letter of the names beside a ball."""
NARROW: Final = 104.0
"""px for the names at the least."""
GAP: Final = 18.0
"""px in which a leader comes from its name to its own height."""
TOP: Final = 40.0
LINE: Final = 15.0
INK: Final = "stroke='currentColor' stroke-width='1.1'"


@dataclass(frozen=True)
class Look:
    """How a line is drawn: px per cm, the colours, whether half a section says all.

    `names` is how wide the names beside a ball are, px.
    """

    scale: float
    colours: Scale
    half: bool
    units: Units
    names: float

    @property
    def wide(self) -> float:
        """The width of one ball's picture, px."""
        return 8 + self.names + GAP + RADIUS * (1 if self.half else 2) + 10

    @property
    def middle(self) -> tuple[float, float]:
        """Where the centre of a ball is, px."""
        return 8 + self.names + GAP + (0.0 if self.half else RADIUS), TOP + RADIUS


def densities(results: Sequence[LineupResult]) -> list[float]:
    """Return all densities of some line-ups, g/cm³."""
    return [float(d) for r in results for weight in r.weights for d in weight.ball.densities]


def strip(result: LineupResult, colours: Scale | None = None, name: str = "line-up") -> Pictures:
    """Return the balls of a line-up in section; `colours`: on a scale that others share."""
    names, maps = class_names(result), [weight.ball.map for weight in result.weights]
    units = Units.of(result.scenario)
    labels = [
        label(pour.part, density, at_limit(weight, pour.part, units), units)
        for weight in result.weights
        for pour, density in zip(weight.ball.map.pours, weight.ball.densities, strict=True)
    ]
    look = Look(
        RADIUS / max(one.radius for one in maps),
        colours or scale_of(densities([result])),
        all(turned(part) for one in maps for part in one.parts),
        units,
        max(LETTER * max(map(len, labels)), NARROW),
    )
    balls = tuple(_ball(one, names[one.label], look, name) for one in result.weights)
    nearest = "" if result.status == "feasible" else " The nearest line-up: it is no solution."
    each = (*balls, _legend(look, name, 2 * max(one.radius for one in maps)))
    whole = side_by_side(
        name,
        f"{result.scenario.name}, revision {result.scenario.revision}: the balls in section",
        " ".join(f"{one.title}: {one.about}" for one in balls) + nearest,
        each,
        across=4,
    )
    kind = "Half-sections" if look.half else "Sections"
    return Pictures(
        whole,
        f"{kind} through the pin, which is at the top, all to one scale; the number is the density "
        f"in {look.units.density.name}. Hatched: at the end of what can be poured.{nearest}",
        each,
    )


def label(part: str, density: float, end: str, units: Units) -> str:
    """Return what stands beside a part: its name, its density, and that it is at an end."""
    return f"{part} {units.density.number(density)}" + (f", {end}" if end else "")


def at_limit(weight: WeightResult, part: str, units: Units) -> str:
    """Return "at most" or "at least" where a density has no room left as printed, else ""."""
    for margin in weight.margins:
        if margin.part == part and margin.limit in ("density min", "density max"):
            end = margin.slack < 0.0 or float(units.density.number(margin.slack)) == 0.0
            if end:
                return "at least" if margin.limit.endswith("min") else "at most"
    return ""


def _ball(weight: WeightResult, name: str, look: Look, prefix: str) -> Picture:
    units, ball = look.units, weight.ball
    own = f"{prefix}-{as_name(weight.label)}"
    cx, cy = look.middle
    ends = {part.name: at_limit(weight, part.name, units) for part in ball.map.parts}
    values = dict(zip(ends, ball.densities.tolist(), strict=True))
    drawn = tuple(_parts(ball.map.parts, values, ends, look, own))
    width = RADIUS * (1 if look.half else 2) + 4
    left = cx - (1 if look.half else RADIUS + 2)
    tall = 2 * RADIUS + 6
    box = f"x='{left:.1f}' y='{cy - tall / 2:.1f}' width='{width:.1f}' height='{tall:.1f}'"
    figures = [
        units.mass.told(ball.properties.mass),
        f"low RG {units.rg.told(ball.radii.low)}",
        f"differential {units.rg.told(ball.radii.differential)}",
    ]
    if not ball.map.symmetric:
        middle = units.rg.told(ball.radii.intermediate_differential)
        figures.append(f"intermediate differential {middle}")
    bottom = cy + RADIUS + 24
    body = (
        text(8, 22, name, f"font-size='15' {BOLD}"),
        *_hatches(own),
        f"<clipPath id='{own}-clip'><rect {box}/></clipPath>",
        f"<g clip-path='url(#{own}-clip)' {INK}>",
        *drawn,
        "</g>",
        *((f"<path d='M {cx:.1f},{cy - tall / 2:.1f} v {tall:.1f}' {INK}/>",) * look.half),
        *_names(ball.map.parts, values, ends, look),
        *(text(8, bottom + LINE * k, one, "font-size='13'") for k, one in enumerate(figures)),
    )
    told = ", ".join(
        f"{part} {units.density.told(values[part])}{f' ({ends[part]})' if ends[part] else ''}"
        for part in values
    )
    title = f"{name} in section"
    height = bottom + LINE * len(figures) + 2
    return Picture(own, title, f"{told}; {'; '.join(figures)}.", look.wide, height, body)


def _parts(
    parts: Sequence[Part],
    values: dict[str, float],
    ends: dict[str, str],
    look: Look,
    own: str,
) -> Iterator[str]:
    """Yield each part over its host, hatched where its density is at an end of its range."""
    for part in _hosts_first(parts):
        loops = part.section()
        if not loops:
            continue
        data = path(loops, look.scale, look.middle)
        fill = f"fill='{look.colours.colour(values[part.name])}' fill-rule='evenodd'"
        yield f"<path class='part' d='{data}' {fill}/>"
        if ends[part.name]:
            way = as_name(ends[part.name].removeprefix("at "))
            hatch = f"fill='url(#{own}-{way})' fill-rule='evenodd' stroke='none'"
            yield f"<path class='hatch' d='{data}' {hatch}/>"


def _hosts_first(parts: Sequence[Part]) -> list[Part]:
    by_name = {part.name: part for part in parts}

    def depth(part: Part) -> int:
        return 0 if part.inside is None else 1 + depth(by_name[part.inside])

    return sorted(parts, key=depth)


def _hatches(own: str) -> Iterator[str]:
    """Yield the two hatches: rising for the most, falling for the least."""
    rising, falling = "M -2,8 L 8,-2 M 4,14 L 14,4", "M -2,4 L 8,14 M 4,-2 L 14,8"
    for way, line in (("most", rising), ("least", falling)):
        size = "width='12' height='12' patternUnits='userSpaceOnUse'"
        stroke = "stroke='#fff' stroke-width='2.6'"
        over = "stroke='black' stroke-width='1.1'"
        yield (
            f"<pattern id='{own}-{way}' {size}><path d='{line}' {stroke}/>"
            f"<path d='{line}' {over}/></pattern>"
        )


def _names(
    parts: Sequence[Part], values: dict[str, float], ends: dict[str, str], look: Look
) -> Iterator[str]:
    """Yield each part's name and density, led to a dot in its own material."""
    (cx, cy), small = look.middle, "font-size='12'"
    places = {
        name: (cx + x * look.scale, cy - z * look.scale)
        for name, (x, z) in dots(tuple(parts), look.scale, half=look.half).items()
    }
    order = sorted(places, key=lambda name: (places[name][1], name))
    heights = spread([places[name][1] for name in order], LINE, TOP - 6, TOP + 2 * RADIUS + 6)
    edge = 8 + look.names
    for name, y in zip(order, heights, strict=True):
        x, level = places[name]
        said = label(name, values[name], ends[name], look.units)
        way = f"M {edge + 3:.1f},{y:.1f} L {edge + GAP - 3:.1f},{level:.1f} H {x:.1f}"
        yield f"<path class='leader' d='{way}' fill='none' stroke='white' stroke-width='2.6'/>"
        yield f"<path d='{way}' fill='none' stroke='currentColor' stroke-width='.9'/>"
        yield (
            f"<circle class='dot' cx='{x:.2f}' cy='{level:.2f}' r='2.6' fill='white' "
            "stroke='currentColor'/>"
        )
        yield text(edge, y + 4, said, f"{small} text-anchor='end'")
    missing = [part.name for part in parts if part.name not in places]
    if missing:
        said = f"not cut here: {', '.join(missing)}"
        yield text(8, TOP + 2 * RADIUS + 8, said, f"font-size='11' {GREY}")


def _legend(look: Look, prefix: str, diameter: float) -> Picture:
    """Return the scale of densities, the two hatches, and a length to measure by."""
    density, length = look.units.density, look.units.length
    low, high, own = look.colours.low, look.colours.high, f"{prefix}-scale"
    body = [text(8, 22, f"density, {density.name}", f"font-size='13' {BOLD}"), *_hatches(own)]
    steps = 40
    for k in range(steps):
        at = f"x='{8 + 6 * k}' y='32' width='6.5' height='16'"
        body.append(f"<rect {at} fill='{colour((k + 0.5) / steps)}'/>")
    body.append(f"<rect x='8' y='32' width='{6 * steps + 0.5}' height='16' fill='none' {INK}/>")
    for share in (0.0, 0.5, 1.0):
        x, anchor = 8 + 6 * steps * share, ("start", "middle", "end")[int(2 * share)]
        value = density.number(low + share * (high - low))
        body.append(text(x, 64, value, f"font-size='12' text-anchor='{anchor}'"))
    for y, way, words in (
        (82, "most", "at the most that can be poured"),
        (106, "least", "at the least that can be poured"),
    ):
        body.append(f"<rect x='8' y='{y}' width='30' height='16' fill='url(#{own}-{way})' {INK}/>")
        body.append(text(46, y + 13, words, "font-size='12'"))
    unit = (1.0 if length.name == "in" else 20.0) * length.factor
    wide = unit * look.scale
    bar = f"M 8,142 v 8 M 8,146 h {wide:.2f} M {8 + wide:.2f},142 v 8"
    body.append(f"<path class='length' d='{bar}' fill='none' {INK}/>")
    told = f"{unit / length.factor:g} {length.name}; largest ball {length.told(diameter)}"
    body.append(text(16 + wide, 151, told, "font-size='12'"))
    about = f"From {density.told(low)}, dark, to {density.told(high)}, light. {told}."
    return Picture(own, "Scale of the sections", about, max(look.wide, 264), 164, tuple(body))
