"""The parts that the shapes of a line have room for: hearts, shells, jackets, rings and caps.

Each is drawn where it fits, with its lengths free as far as its host goes: where the walls end is
for the search to find.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence

from geometry.nesting import children
from geometry.parts import Part
from geometry.solids.joined import Joined
from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL
from optimizer.questions.grow.form import Form
from optimizer.questions.grow.host import Host, Options
from optimizer.scenario import Scenario
from optimizer.scenario.source.content import named_parts
from shared.errors import InputError
from shared.tolerances import TOUCH


def forms(asked: Scenario) -> Iterator[Form]:
    """Yield each part that the shapes allow, drawn where it fits.

    The first of its options whose walls are as thick as the scenario asks, else the roomiest.
    """
    wall_asked = asked.text.limits.wall
    least = 0.0 if wall_asked is None else wall_asked.min
    texts, seen = named_parts(tomllib.loads(asked.source)), set[str]()
    triaxial = INTERMEDIATE_DIFFERENTIAL in asked.target
    for drawing in asked.classes:
        inside = children(drawing.parts)
        for part in drawing.parts:
            if part.name not in seen and not part.through and _solid(part):
                seen.add(part.name)
                host = Host(part, inside[part.name], texts, least, triaxial=triaxial)
                fits = (_fitting(options, drawing.parts, least) for options in host.options())
                yield from filter(None, fits)


def _solid(part: Part) -> bool:
    """Whether a part's extent is known: not of what is cut from nothing."""
    return not isinstance(part.shape, Joined) or bool(part.shape.bodies())


def _fitting(options: Options, parts: Sequence[Part], least: float) -> Form | None:
    roomiest, most = None, TOUCH
    for form in options:
        try:
            room = form.room(parts)
        except (ValueError, InputError):  # no such shape
            continue
        if room >= least:
            return form
        if room > max(most, least / 2):
            roomiest, most = form, room
    return roomiest
