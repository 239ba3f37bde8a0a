"""The key to the balls in section: scales of density and of length, and how balls are cut."""

from __future__ import annotations

import numpy as np

from optimizer.paper.pictures.picture import Picture, text
from optimizer.paper.words import nearest_line
from optimizer.questions.line_up.balls.densities import hatching, poured
from optimizer.questions.line_up.balls.strip_view import (
    EDGE,
    LEFT,
    LINE,
    SMALL,
    TITLE,
    WIDTH,
    Strip,
    wrapped,
)

HALF_CUT = "cut along the pin axis"
WHOLE_CUT = "cut by the planes of x and z and of y and z"
"""How balls are cut: the words that pictures and captions share."""


def key(of: Strip) -> Picture:
    """Return the picture that explains the others."""
    name, units, scale = f"{of.name}-key", of.units, of.scale
    every = (pour.end for weight in of.result.weights for pour in poured(weight, units))
    ends = sorted({end for end in every if end is not None})
    length, words = _round_length(of)
    body = [
        text(LEFT, 22, "Key", TITLE),
        text(LEFT, 52, "density, one scale of colours for all", SMALL),
        *scale.bar((LEFT, 60), WIDTH - 2 * LEFT, units.density, f"{name}-scale"),
    ]
    y, box = 122.0, f"x='{LEFT}' width='34' height='18'"
    for end in ends:
        body += [
            f"<defs>{hatching(f'{name}-{end}', end, 'currentColor')}</defs>",
            f"<rect {box} y='{y - 14:g}' fill='url(#{name}-{end})' stroke='currentColor'/>",
            text(LEFT + 44, y, f"density at the {end} of its range", SMALL),
        ]
        y += 28
    body += [
        f"<path d='M {LEFT},{y - 10:g} v 8 M {LEFT},{y - 6:g} h {length:.2f} m 0,-4 v 8' {EDGE}/>",
        text(LEFT + length + 10, y - 1, words, SMALL),
    ]
    y += 30
    cut = (
        f"Half-sections, {HALF_CUT}, about which every part is turned; the pin is at the top."
        if of.half
        else f"Sections, {WHOLE_CUT}, the pin at the top; x and y point to the right. A part that "
        "isn't turned about the pin axis looks otherwise in other planes."
    )
    dot = "A dot marks the part's own material: what remains without the parts inside it."
    for line in wrapped((nearest_line(of.result.status), cut, dot)):
        body.append(text(LEFT, y, line, SMALL))
        y += LINE
    about = (
        f"{nearest_line(of.result.status)}Densities from {units.density.told(scale.low)}, dark, to "
        f"{units.density.told(scale.high)}, light. {cut} A bar is {words} long."
    )
    return Picture(name, "Key to the balls in section", about, WIDTH, y, tuple(body))


def _round_length(of: Strip) -> tuple[float, str]:
    """Return a round length that is about a quarter of the picture: px, and in words."""
    unit = of.units.length
    most = 0.3 * WIDTH / (of.per_cm * unit.factor)
    power = 10.0 ** np.floor(np.log10(most))
    length = float(power * max(f for f in (1, 2, 5) if f * power <= most))
    return length * of.per_cm * unit.factor, f"{length:g} {unit.name}"
