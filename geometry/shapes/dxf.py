"""The reader of DXF drawings (ezdxf, extra `cad`): lines and arcs on a layer, as an outline.

Only model space counts; text and dimensions are ignored. Anything else is refused, so that an
outline is never silently approximated.
"""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from geometry.outlines.strokes import JOIN, Run, outline
from geometry.shapes.ezdxf_package import ezdxf_package
from shared.arrays import Array, frozen
from shared.errors import FileError
from shared.models import suggestion
from shared.units import FILE_LENGTHS, LENGTHS, SAYING, LengthUnit
from shared.untrusted import MB

if TYPE_CHECKING:
    from ezdxf.document import Drawing

UNITS: Final = {unit.dxf: unit for unit in FILE_LENGTHS}
"""Units by $INSUNITS; 0 means none."""
INTO: Final = " or ".join(unit.words for unit in LENGTHS.values())
WORDS: Final = {
    *("TEXT", "MTEXT", "DIMENSION", "ARC_DIMENSION", "LEADER", "MULTILEADER", "TOLERANCE"),
    *("ATTDEF", "VIEWPORT"),
}
"""Entities that only annotate a drawing."""
CALLED: Final = {
    "SPLINE": "a spline",
    "ELLIPSE": "an ellipse",
    "INSERT": "a block reference",
    "HATCH": "a hatch",
    "POINT": "a point",
}
FAULTY: Final = (
    *(ValueError, LookupError, AttributeError, TypeError),
    *(ArithmeticError, StopIteration, RuntimeError),
)
"""The errors that ezdxf may raise for a damaged file."""
BENT: Final = 10.0
"""The largest bulge of a written outline; an arc with a larger one is split."""
CURVES, SPLINES = 2, 4
"""Flags of a POLYLINE through which a curve was fitted."""
QUIET: Final = logging.NullHandler()
"""Discards ezdxf's hints."""
MOST: Final = 20 * MB
"""The most bytes of a drawing; reading so many takes 10 s."""
KEPT: Final = 32
"""Drawings whose outlines are cached: a search reads a text repeatedly."""


class Entity(NamedTuple):
    """One entity: its kind, its runs of lines and arcs, their heights."""

    kind: str
    runs: tuple[Run, ...]
    heights: tuple[float, ...]


@lru_cache(maxsize=KEPT)
def dxf_outline(content: bytes, layer: str | None, unit: str | None, *, axis: bool) -> Array:
    """Return the vertices (k, 3) of the outline on a layer: x and y in cm, bulge.

    Without a `layer`, all layers count; `unit` is the drawing's if it gives none. With `axis`, x is
    r and y is z. Raises FileError.
    """
    drawing, code = _read(content)
    factor = _unit(code, unit).size
    drawn = [entity for entity in drawing.modelspace() if entity.dxftype() not in WORDS]
    layers = list(dict.fromkeys(map(_layer, drawn)))
    if not drawn:
        raise FileError("has no lines or arcs", "draw the outline in model space")
    drawn = [entity for entity in drawn if layer is None or _layer(entity).lower() == layer.lower()]
    if not drawn:
        raise FileError("has nothing drawn on it", suggestion(str(layer), layers))
    try:
        entities = [_entity(entity) for entity in drawn]
        _check(entities)
        vertices = outline([run for entity in entities for run in entity.runs], axis=axis)
    except FileError as error:
        if layer is not None or len(layers) < 2:
            raise
        named = ", ".join(f'"{name}"' for name in layers)
        raise FileError(error.what, f"name the outline's layer, one of {named}") from None
    return frozen(vertices * [factor, factor, 1.0])


def _read(content: bytes) -> tuple[Drawing, int]:
    """Return the document in a file, and the code of its unit."""
    for start, what in ((b"AutoCAD Binary DXF", "a binary DXF"), (b"AC10", "a DWG")):
        if content.startswith(start):
            raise FileError(f"is {what}", "save it as an ASCII DXF")
    if len(content) > MOST:
        raise FileError(f"is larger than {MOST / MB:g} MB", "save only the outline in it")
    if not content.strip():
        raise FileError("is empty", "save the drawing as DXF again")
    if find_spec("ezdxf") is None:
        raise FileError("needs ezdxf, which isn't installed", 'pip install "samespin[cad]"')
    ezdxf = ezdxf_package()
    from ezdxf.filemanagement import dxf_stream_info  # noqa: PLC0415

    logging.getLogger("ezdxf").addHandler(QUIET)
    content = content.removeprefix(b"\xef\xbb\xbf")
    try:
        info = dxf_stream_info(io.StringIO(content.decode("latin-1"), newline=None))
        stream = io.TextIOWrapper(io.BytesIO(content), info.encoding, "surrogateescape")
        drawing = ezdxf.read(stream)
        return drawing, int(drawing.header.get("$INSUNITS", 0))
    except (ezdxf.DXFError, *FAULTY) as error:
        cut = content.lstrip()[:1] in {b"0", b"9"}
        what = "is cut short, or not a DXF file" if cut else "is not a DXF file"
        raise FileError(f"{what} ({_one_line(error)})", "save the drawing as DXF again") from None


def _one_line(error: Exception) -> str:
    message = " ".join(str(error).split()).removeprefix("DXFStructureError: ").rstrip(".")
    return message or "it ends too early"


def _unit(code: int, asked: str | None) -> LengthUnit:
    """Return the drawing's unit."""
    if code == 0:
        if asked is None:
            raise FileError("gives no unit ($INSUNITS)", f"add {SAYING} to file and layer")
        return LENGTHS[asked]
    length_unit = UNITS.get(code)
    if length_unit is None:
        raise FileError(f"is in an unknown unit ($INSUNITS is {code})", f"save it in {INTO}")
    if asked not in {None, length_unit.name}:
        what = f'is drawn in {length_unit.words} ($INSUNITS), but unit says "{asked}"'
        raise FileError(what, "correct the one that is wrong")
    return length_unit


def _check(entities: Sequence[Entity]) -> None:
    """Refuse anything but lines and arcs in one plane. Raises FileError."""
    for entity in entities:
        if not entity.runs:
            called = CALLED.get(entity.kind, f"{entity.kind}, which is not a line or arc")
            raise FileError(f"has {called}", "draw only lines, arcs, circles and polylines")
    heights = np.array([height for entity in entities for height in entity.heights])
    points = np.concatenate([run.vertices[:, :2] for entity in entities for run in entity.runs])
    if np.ptp(heights) > JOIN * max(1.0, float(np.max(np.ptp(points, axis=0)))):
        what = f"isn't flat: z goes from {np.min(heights):.6g} to {np.max(heights):.6g}"
        raise FileError(what, "draw it in the x-y plane")


def _layer(entity: Any) -> str:
    """Return the layer of an entity; 0 for an unknown kind."""
    return str(entity.dxf.layer) if entity.dxf.is_supported("layer") else "0"


def _entity(entity: Any) -> Entity:
    """Return an entity as runs of lines and arcs, in the drawing's axes."""
    from ezdxf import DXFError  # noqa: PLC0415 - an extra, and heavy

    try:
        flat = [_flat(entity, run, z) for run, z in _drawn(entity)]
        heights = tuple(z for _, zs in flat for z in zs)
        if not np.all(np.isfinite(heights)):
            raise ValueError("it has a height that is not a number")
    except (DXFError, *FAULTY) as error:
        what = f"has a faulty {entity.dxftype()} ({_one_line(error)})"
        raise FileError(what, "save the drawing as DXF again") from None
    return Entity(entity.dxftype(), tuple(run for run, _ in flat), heights)


def _drawn(entity: Any) -> Iterator[tuple[Run, Sequence[float]]]:
    """Yield the runs of an entity in its own axes, with their heights; none for other kinds."""
    match entity.dxftype():
        case "LINE":
            ends = (entity.dxf.start, entity.dxf.end)
            yield _run([(p.x, p.y, 0.0) for p in ends], closed=False), [p.z for p in ends]
        case "CIRCLE":
            c, r = entity.dxf.center, abs(entity.dxf.radius)
            yield _run([(c.x - r, c.y, 1.0), (c.x + r, c.y, 1.0)], closed=True), [c.z]
        case "ARC":
            c, r = entity.dxf.center, abs(entity.dxf.radius)
            begin, end = (math.radians(a) for a in (entity.dxf.start_angle, entity.dxf.end_angle))
            turn = (end - begin) % (2 * math.pi) or 2 * math.pi
            at = [begin, begin + turn / 2, begin + turn]
            bulge = math.tan(turn / 8)
            points = [(c.x + r * math.cos(a), c.y + r * math.sin(a), bulge) for a in at]
            yield _run(points, closed=False), [c.z]
        case "LWPOLYLINE":
            yield _run(entity.get_points("xyb"), closed=bool(entity.closed)), [entity.dxf.elevation]
        case "POLYLINE" if entity.is_2d_polyline and not entity.dxf.flags & (CURVES | SPLINES):
            vertices = [(*v.dxf.location.vec2, v.dxf.bulge) for v in entity.vertices]
            yield _run(vertices, closed=bool(entity.is_closed)), [entity.dxf.elevation.z]


def _run(vertices: Sequence[Sequence[float]], *, closed: bool) -> Run:
    """Return a run without bulges above BENT."""
    rows = [[float(v) for v in vertex] for vertex in vertices]
    if not rows:
        raise ValueError("it has no vertices")
    if not np.all(np.isfinite(rows)):
        raise ValueError("it has a coordinate that is not a number")
    k = 0
    while k < len(rows) - (0 if closed else 1):
        x, y, bulge = rows[k]
        if abs(bulge) <= BENT:
            k += 1
            continue
        u, v, _ = rows[(k + 1) % len(rows)]
        half = math.tan(math.atan(bulge) / 2)
        middle = [(x + u + bulge * (v - y)) / 2, (y + v - bulge * (u - x)) / 2, half]
        rows[k : k + 1] = [[x, y, half], middle]
    return Run(np.array(rows, dtype=float).reshape(-1, 3), closed)


def _flat(entity: Any, run: Run, heights: Sequence[float]) -> tuple[Run, Sequence[float]]:
    """Return a run in the drawing's axes; an entity seen from below is mirrored in x."""
    if entity.dxftype() == "LINE":
        return run, heights
    x, y, z = entity.dxf.extrusion.normalize()
    if math.hypot(x, y) > JOIN:
        raise ValueError("it isn't drawn in the x-y plane")
    if z > 0:
        return run, heights
    return Run(run.vertices * [-1.0, 1.0, -1.0], run.closed), [-height for height in heights]
