"""The writer for CAD: sections of the moulds as a DXF drawing (ezdxf, extra `cad`).

Each part has a layer; lines and circular arcs are closed polylines with bulges, stretched arcs are
ellipses. The same drawing gives the same bytes: no clock, no random identifiers.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterable
from importlib.util import find_spec
from itertools import chain, count, cycle
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from geometry.sections.section import Loop
from geometry.shapes.ezdxf_package import ezdxf_package
from optimizer.paper.document import Report
from optimizer.paper.writers.drawing import Drawing, MouldSection
from shared.arrays import Array
from shared.errors import InputError, Problem
from shared.letters import safe
from shared.units import LENGTHS

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.layouts import Modelspace

VERSION: Final = "R2010"
GAP: Final = 100
"""Moulds are placed at multiples of this many small changes of the unit: 1 in, 25 mm."""
NOTES, AXIS = "notes", "centre line"
COLOURS: Final = (1, 5, 3, 6, 30, 4)
"""Indices of the standard palette, for the parts in turn."""


def required() -> None:
    """Raise InputError if ezdxf is not installed."""
    if find_spec("ezdxf") is None:
        what = "a DXF drawing needs ezdxf, which isn't installed"
        raise InputError([Problem(what, instead='pip install "samespin[cad]"')])


def encoded(report: Report) -> bytes:
    """Return the report's moulds as DXF. Raises InputError without moulds, or without ezdxf."""
    if report.drawing is None:
        raise InputError([Problem("there is no mould to draw", instead="samespin solve -o X.dxf")])
    required()
    ezdxf = ezdxf_package()
    from ezdxf import options  # noqa: PLC0415

    drawing, before = report.drawing(), options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # the only switch for clock and identifiers
    try:
        document, stream = ezdxf.new(VERSION), io.StringIO()
        _draw(drawing, document)
        document.classes.add_required_classes(document.dxfversion)  # from a set: sorted below
        document.classes.classes = dict(sorted(document.classes.classes.items()))
        document.write(stream)
    finally:
        options.write_fixed_meta_data_for_testing = before
    return stream.getvalue().encode()


def _draw(drawing: Drawing, document: Document) -> None:
    document.header["$INSUNITS"] = LENGTHS[drawing.length].dxf
    document.header["$MEASUREMENT"] = int(drawing.length != "in")
    document.linetypes.add("CENTER", [2.0, 1.25, -0.25, 0.25, -0.25], description="centre line")
    layers = _layers(drawing, document)
    space, x = document.modelspace(), 0.0
    for mould in drawing.moulds:
        radius = mould.radius / drawing.factor
        for part in mould.parts:
            for loop in part.loops:
                _loop(space, loop, drawing.factor, x, layers[part.name])
        _beside(space, mould, drawing.length, radius, x)
        longest = max(len(line) for line in mould.notes) * _height(radius)
        gap = GAP * LENGTHS[drawing.length].small
        x += math.ceil((2.2 * radius + max(longest - 2 * radius, 0)) / gap + 1) * gap


def _layers(drawing: Drawing, document: Document) -> dict[str, str]:
    """Return the layer of each part, by its name, without characters that layers can't have."""
    document.layers.add(NOTES, color=7)
    document.layers.add(AXIS, color=8, linetype="CENTER")
    taken, layers = {"0", "defpoints", NOTES, AXIS}, dict[str, str]()
    names = dict.fromkeys(part.name for mould in drawing.moulds for part in mould.parts)
    for name, colour in zip(names, cycle(COLOURS), strict=False):
        plain = re.sub(r'[<>/\\":;?*|=`,�]', "_", safe(name)).strip()[:200] or "part"
        tries = chain([plain], (f"{plain} {k}" for k in count(2)))
        layer = next(layer for layer in tries if layer.lower() not in taken)
        taken.add(layer.lower())
        remarks = {part.remarks for m in drawing.moulds for part in m.parts if part.name == name}
        document.layers.add(layer, color=colour).description = _plain("; ".join(sorted(remarks)))
        layers[name] = layer
    return layers


def _plain(text: str) -> str:
    """Return the text without control characters and DXF's own codes: %% and ^."""
    return safe(text).replace("%%", "% %").replace("^", "^ ")


def _height(radius: float) -> float:
    """Return the height of the text beside a ball."""
    return radius / 25


def _beside(space: Modelspace, mould: MouldSection, unit: str, radius: float, x: float) -> None:
    """Draw the centre lines, and write the notes below the mould."""
    reach, height = 1.08 * radius, _height(radius)
    lines: Iterable[tuple[float, float]] = ((0.0, reach), (reach, 0.0))
    for across, up in lines:
        ends = ((x - across, -up), (x + across, up))
        space.add_line(*ends, {"layer": AXIS, "ltscale": radius / 10})
    style: dict[str, Any] = {"layer": NOTES}
    space.add_text("PIN", height=height, dxfattribs=style).set_placement((x + height, reach))
    where = f"All lengths in {'inches' if unit == 'in' else 'millimetres'}; "
    where += f"the ball's centre is at ({x:g}, 0) of this drawing"
    for k, line in enumerate((*mould.notes, where)):
        place = (x - radius, -reach - (2.5 + 1.8 * k) * height)
        space.add_text(_plain(line), height=height, dxfattribs=style).set_placement(place)


def _loop(space: Modelspace, loop: Loop, factor: float, x: float, layer: str) -> None:
    """Draw one closed line: as a polyline where arcs stay circular, else as ellipses and lines."""
    A, shift = loop.matrix / factor, loop.shift / factor + [x, 0.0]
    style, vertices = {"layer": layer}, loop.outline.vertices
    if not np.any(vertices[:, 2]) or _even(A):
        placed = vertices[:, :2] @ A.T + shift
        bulges = vertices[:, 2] * np.sign(np.linalg.det(A))
        points = np.column_stack([placed, bulges]).tolist()
        space.add_lwpolyline(points, format="xyb", close=True, dxfattribs=style)
        return
    edges = loop.outline.edges
    for k in range(1 if _round(vertices) else len(vertices)):
        angle = float(edges.angle[k])
        ends = np.array([[p.real, p.imag] for p in (edges.start[k], edges.end[k])])
        if angle == 0.0:
            space.add_line(*(ends @ A.T + shift).tolist(), dxfattribs=style)
            continue
        chord = ends[1] - ends[0]
        middle = ends.mean(axis=0) + np.array([-chord[1], chord[0]]) / (2 * np.tan(angle / 2))
        start = ends[0] - middle
        major, ratio, ends_at = _ellipse(A, start, 2 * np.pi if _round(vertices) else angle)
        space.add_ellipse(
            (A @ middle + shift).tolist(), (*major.tolist(), 0.0), ratio, *ends_at, style
        )


def _even(A: Array) -> bool:
    """Whether the map `A` (2, 2) leaves circles circles."""
    a, b = A.T
    size = a @ a + b @ b
    return bool(abs(a @ a - b @ b) <= 1e-12 * size and abs(a @ b) <= 1e-12 * size)


def _round(vertices: Array) -> bool:
    """Whether an outline is a whole circle."""
    return len(vertices) == 2 and bool(np.all(vertices[:, 2] == 1.0))


def _ellipse(A: Array, start: Array, angle: float) -> tuple[Array, float, tuple[float, float]]:
    """Return the image of an arc under `A`: half the major axis, the ratio, its two parameters.

    `start` is the arc's start relative to its centre. A = U S Vᵀ maps a circle's point p to
    U S (Vᵀp): an ellipse with axes U S, at the parameter that is the angle of Vᵀp.
    """
    U, S, Vt = np.linalg.svd(A)
    if np.linalg.det(U) < 0:  # the minor axis must be a quarter turn on from the major one
        U[:, 1], Vt[1] = -U[:, 1], -Vt[1]
    first = Vt @ start
    at = float(np.arctan2(first[1], first[0]))
    turn = angle * float(np.sign(np.linalg.det(Vt)))
    ends = (at, at + turn) if turn > 0 else (at + turn, at)
    return U[:, 0] * S[0] * np.hypot(*start), float(S[1] / S[0]), ends
