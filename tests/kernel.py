"""Solids made by the CAD kernel, of the outlines that scenarios have."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

from geometry.outlines.edges import Edges

Outline = Sequence[Sequence[float]]


def face(outline: Outline, *, upright: bool) -> Any:
    """The flat face within an outline of lines and arcs, mm, in x and z if `upright`, else x, y."""
    edges = Edges.closed(np.array([[*v, 0.0][:3] for v in outline]))
    middles = edges.points(np.array(0.5))
    wire = BRepBuilderAPI_MakeWire()
    for start, middle, end, angle in zip(edges.start, middles, edges.end, edges.angle, strict=True):
        points = [
            gp_Pnt(p.real, 0.0, p.imag) if upright else gp_Pnt(p.real, p.imag, 0.0)
            for p in (start, middle, end)
        ]
        if angle:
            wire.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(*points).Value()).Edge())
        else:
            wire.Add(BRepBuilderAPI_MakeEdge(points[0], points[2]).Edge())
    return BRepBuilderAPI_MakeFace(wire.Wire()).Face()


def turned_shape(outline: Outline) -> Any:
    """The solid of a half outline, turned about z."""
    axis = gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1))
    return BRepPrimAPI_MakeRevol(face(outline, upright=True), axis).Shape()
