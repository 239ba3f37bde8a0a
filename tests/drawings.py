"""DXF drawings made by ezdxf itself, for the tests of their reader."""

from __future__ import annotations

import io
import logging
from collections.abc import Callable
from typing import Any

import ezdxf

logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # R12 has no unit, and it says so


def drawing(draw: Callable[[Any], Any], *, units: int = 4, version: str = "R2010") -> bytes:
    """A DXF file with what `draw` puts into model space."""
    document, stream = ezdxf.new(version, units=units), io.StringIO()
    draw(document.modelspace())
    document.write(stream)
    return stream.getvalue().encode(document.output_encoding, "dxfreplace")


def block(space: Any, layer: str = "BLOCK") -> None:
    """Half a block in mm: foot, round edge, waist and cap, open along the axis."""
    on = {"layer": layer}
    space.add_line((0, -60), (40, -60), on)
    space.add_arc((40, -50), 10, 270, 360, dxfattribs=on)
    space.add_line((50, 20), (50, -50), on)  # drawn downward
    space.add_line((50, 20), (0, 40), on)


BLOCK = ((0, -6, 0), (4, -6, 0.41421356), (5, -5, 0), (5, 2, 0), (0, 4, 0))
"""The same in cm: tan(90° / 4) = √2 − 1."""
