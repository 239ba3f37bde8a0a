"""Every weight's ball in section, to one scale: parts coloured by density, and the ball's figures.

Where every part is turned about the pin axis, half a section shows everything; otherwise the whole
ball is drawn, cut by two planes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from geometry.nesting import painting_order
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.paper.document import Pictures, panels
from optimizer.paper.pictures.leaders import joined
from optimizer.paper.pictures.picture import BOLD, GREY, Picture, cut, text
from optimizer.paper.quantities import Units
from optimizer.paper.words import nearest_line
from optimizer.questions.line_up.balls.densities import (
    Poured,
    Scale,
    density_scale,
    hatching,
    poured,
)
from optimizer.questions.line_up.balls.heat import poured_words
from optimizer.questions.line_up.balls.strip_key import HALF_CUT, WHOLE_CUT, key
from optimizer.questions.line_up.balls.strip_view import (
    EDGE,
    LEFT,
    LINE,
    PITCH,
    SMALL,
    TITLE,
    WIDTH,
    Strip,
    View,
    wrapped,
)
from optimizer.questions.line_up.frame import titled
from optimizer.questions.line_up.page import class_names
from optimizer.questions.line_up.table import figures_shown

LABELS: Final = 206.0
"""px to the labels."""
LETTERS = 29
"""Letters in a name beside the section, at most."""
LITTLE = "font-size='11'"
CASING = "stroke='white' stroke-width='2' stroke-linejoin='round'"
"""Sets an edge apart from the colours on both sides."""
LEADER = "stroke-linecap='round' fill='none'"


def strip(result: LineupResult, span: Scale | None = None, name: str = "line-up") -> Pictures:
    """Return the key and a picture for each weight, named after `name`.

    `span` is the scale of densities where several line-ups share one.
    """
    of = Strip(result, span or density_scale(result), name)
    classes = class_names(result)
    balls = [
        _ball(of, weight, f"{name}-{k}", classes[weight.label])
        for k, weight in enumerate(result.weights, start=1)
    ]
    title = f"{titled(result.scenario)}: balls in section"
    return panels(name, title, (key(of), *balls), _caption(of), across=3)


def _caption(of: Strip) -> str:
    section = f"half-section, {HALF_CUT}" if of.half else f"section, {WHOLE_CUT}"
    return (
        f"{nearest_line(of.result.status)}Each ball in {section}, all to one scale, the pin at the "
        "top. The brighter a part, the denser it is; slanting lines mark a density at the end of "
        "its range."
    )


def _ball(of: Strip, weight: WeightResult, name: str, label: str) -> Picture:
    """Return the picture of one weight."""
    ball, units = weight.ball, of.units
    pours, views = poured(weight, units), of.of(ball.map)
    radius = of.per_cm * ball.map.radius
    none = "" if of.result.accepted else "; nearest line-up, not a solution"
    size = f"ball {units.length.told(2 * ball.map.radius)} across"
    rest = wrapped(_rest(views, pours, units))
    figures = list(_figures(of, weight))
    below = views[-1].top + views[-1].tall + 30
    body = [text(LEFT, 22, label, TITLE), text(LEFT, 41, size + none, f"{SMALL} {GREY}")]
    for view in views:
        body += _section(of, view, pours, name)
        body += _axis(of, view, radius)
        body += _labels(of, view, pours)
    for k, (figure, value) in enumerate(figures):
        body.append(text(LEFT, below + LINE * k, figure, f"{SMALL} {GREY}"))
        body.append(text(LABELS, below + LINE * k, value, SMALL))
    for k, line in enumerate(rest, start=len(figures)):
        body.append(text(LEFT, below + LINE * k, line, SMALL))
    densities = (f"{each.pour.part} {poured_words(each, units.density)}" for each in pours)
    measured = (f"{figure} {value}" for figure, value in figures)
    about = "; ".join((size, *densities, *measured, *rest))
    return Picture(
        name,
        f"{titled(of.result.scenario)}, {label}: the ball in section",
        f"{nearest_line(of.result.status)}{about}.",
        WIDTH,
        below + LINE * (len(figures) + len(rest)) - 4,
        tuple(body),
    )


def _rest(views: Sequence[View], pours: Sequence[Poured], units: Units) -> Iterator[str]:
    """Yield a line for each part without a label."""
    for k, each in enumerate(pours):
        if not any(each.pour.part in view.places for view in views):
            crossed = any(view.parts[k].section() for view in views)
            why = "too thin to point to" if crossed else "not cut by these planes"
            yield f"{each.pour.part} ({why}): {poured_words(each, units.density)}"


def _figures(of: Strip, weight: WeightResult) -> Iterator[tuple[str, str]]:
    """Yield the names of the ball's figures, and their values."""
    for figure in figures_shown(of.result.weights):
        yield figure.words, of.units.by(figure.quantity).told(figure.value(weight.ball))


def _section(of: Strip, view: View, pours: Sequence[Poured], name: str) -> Iterator[str]:
    """Yield the parts, each over its host, in their colours."""
    name, eye, parts = f"{name}-{view.plane}", view.eye, view.parts
    by_name = dict(zip((part.name for part in parts), pours, strict=True))
    ids = {part.name: f"{name}-part-{k}" for k, part in enumerate(parts, start=1)}
    patterns, hatched = dict[str, str](), dict[str, str]()
    for each in pours:
        if each.end is not None:
            stroke = of.scale.ink(each.density)
            pattern = patterns[each.pour.part] = f"{name}-{each.end}-{stroke[1:]}"
            hatched.setdefault(pattern, hatching(pattern, each.end, stroke))
    clip, group = "", "<g fill-rule='evenodd'>"
    if of.half:
        reach = of.per_cm * max(weight.ball.map.radius for weight in of.result.weights) + 2
        box = f"x='{eye.x:g}' y='{eye.y - reach:g}' width='{reach:g}' height='{2 * reach:g}'"
        clip = f"<clipPath id='{name}-half'><rect {box}/></clipPath>"
        group = f"<g fill-rule='evenodd' clip-path='url(#{name}-half)'>"
    painted = [part for part in painting_order(parts) if part.section()]
    paths = (f"<path id='{ids[p.name]}' d='{eye.path(p.section())}'/>" for p in painted)
    yield f"<defs>{clip}{''.join(hatched.values())}{''.join(paths)}</defs>"
    yield group
    for part in painted:
        use = f"<use href='#{ids[part.name]}'"
        yield f"{use} fill='{of.scale.colour(by_name[part.name].density)}' {CASING}/>"
        if part.name in patterns:
            yield f"{use} fill='url(#{patterns[part.name]})'/>"
        yield f"{use} {EDGE}/>"
    yield "</g>"


def _axis(of: Strip, view: View, radius: float) -> Iterator[str]:
    """Yield the pin axis: along the cut of a half, else outside the ball only, with the plane."""
    eye = view.eye
    top, bottom = eye.y - radius, eye.y + radius
    across = "" if of.half else f"V {top:g} M {eye.x:g},{bottom:g} "
    yield f"<path d='M {eye.x:g},{top - 12:g} {across}V {bottom + 8:g}' {EDGE}/>"
    yield text(eye.x + 6, top - 4, "pin", f"{LITTLE} {GREY}")
    if not of.half:
        yield text(LEFT, top - 4, f"{view.plane} plane", f"{LITTLE} {GREY}")


def _labels(of: Strip, view: View, pours: Sequence[Poured]) -> Iterator[str]:
    """Yield a dot in each part's own material, a line from it, and its name and density."""
    labelled = [each for each in pours if each.pour.part in view.places]
    if not labelled:
        return
    names = [each.pour.part for each in labelled]
    points = view.eye.at(np.array([view.places[name] for name in names]))
    ends = (view.top + PITCH / 2, view.top + view.tall - PITCH / 2)
    heights = joined(points, LABELS - 6, PITCH, ends)
    pairs = zip(points.tolist(), heights.tolist(), strict=True)
    lines = " ".join(f"M {x:.1f},{y:.1f} L {LABELS - 6:g},{level:.1f}" for (x, y), level in pairs)
    yield f"<path d='{lines}' stroke='white' stroke-width='3' {LEADER}/>"
    yield f"<path class='leaders' d='{lines}' stroke='currentColor' {LEADER}/>"
    for x, y in points.tolist():
        circle = f"<circle class='dot' cx='{x:.1f}' cy='{y:.1f}' r='2.6'"
        yield f"{circle} stroke='white' stroke-width='1.2'/>"
    for each, level in zip(labelled, heights.tolist(), strict=True):
        short = cut(each.pour.part, LETTERS, names)
        yield text(LABELS, level - 1, short, f"{SMALL} {BOLD}")
        brief = ", ".join(filter(None, (of.units.density.told(each.density), each.brief)))
        yield text(LABELS, level + 12, brief, LITTLE)
