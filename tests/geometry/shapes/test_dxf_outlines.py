"""DXF drawings as outlines: written by ezdxf, read by our reader, in every form an outline has."""

from __future__ import annotations

import sys

import numpy as np
import pytest
from drawings import BLOCK, block, drawing
from pydantic import ValidationError

from geometry.shapes.dxf import dxf_outline
from geometry.shapes.extruded import Extruded
from geometry.shapes.revolved import Revolved
from shared.errors import FileError
from shared.models import Reading


def read(content: bytes, layer=None, unit=None, *, axis=True):
    return dxf_outline(content, layer, unit, axis=axis)


@pytest.mark.parametrize("version", ["R12", "R2000", "R2004", "R2007", "R2010", "R2018"])
def test_lines_and_arcs_are_joined_in_every_version(version) -> None:
    content = drawing(block, version=version)
    found = read(content, "BLOCK", "mm")
    halves = np.tan(np.pi / 8 / 2)  # an arc comes as two
    assert found[1:3, 2] == pytest.approx(halves)
    left = Revolved(outline=tuple(map(tuple, found.tolist()))).moments().J
    right = Revolved.model_validate({"outline": BLOCK}).moments().J
    assert np.max(np.abs(left - right)) < 1e-6 * np.max(np.abs(right))


@pytest.mark.parametrize("newline", [b"\n", b"\r\n"])
def test_line_ends_of_either_kind_are_read(newline) -> None:
    content = drawing(block).replace(b"\r\n", b"\n")
    assert np.array_equal(read(content.replace(b"\n", newline)), read(content))
    assert np.array_equal(read(b"\xef\xbb\xbf" + content), read(content))


def corners(space) -> None:
    space.add_lwpolyline([(0, -20), (30, -20, 0.5), (30, 20), (0, 20, 0)], format="xyb", close=True)


@pytest.mark.parametrize(("units", "cm"), [(1, 2.54), (4, 0.1), (5, 1.0)])
def test_the_drawing_says_its_unit(units, cm) -> None:
    found = read(drawing(lambda space: space.add_circle((2, 3), 1.5), units=units), axis=False)
    assert found.tolist() == [[0.5 * cm, 3 * cm, 1], [3.5 * cm, 3 * cm, 1]]


def test_a_drawing_without_a_unit_takes_the_one_that_is_named() -> None:
    content = drawing(corners, units=0)
    assert read(content, unit="in")[1].tolist() == [30 * 2.54, -20 * 2.54, 0.5]
    assert read(content, unit="mm")[1].tolist() == [3.0, -2.0, 0.5]


def seen_from_below(space) -> None:
    """The corners mirrored by CAD: their axes point down, and x the other way."""
    space.add_lwpolyline(
        [(0, -20), (-30, -20, -0.5), (-30, 20), (0, 20, 0)],
        format="xyb",
        close=True,
        dxfattribs={"extrusion": (0, 0, -1)},
    )


def in_pieces(space) -> None:
    """The same, its arc by hand: 4·atan(½) round (15, 0), of radius 25; lines run from below, too.

    A chord of 40 with a bulge of ½ has a radius of 40·(1 + ½²)/(4·½) = 25 and leans out by 10.
    """
    space.add_line((0, -20), (30, -20))
    space.add_arc(
        (-15, 0),
        25,
        180 - np.degrees(np.arctan2(20, 15)),
        180 + np.degrees(np.arctan2(20, 15)),
        dxfattribs={"extrusion": (0, 0, -1)},
    )
    space.add_polyline2d([(30, 20), (0, 20), (0, -20)])


@pytest.mark.parametrize("draw", [corners, seen_from_below, in_pieces])
def test_one_outline_drawn_in_three_ways_has_the_same_moments(draw) -> None:
    expected = Revolved.model_validate({"outline": [[0, -2], [3, -2, 0.5], [3, 2], [0, 2]]})
    revolved = Revolved(outline=tuple(map(tuple, read(drawing(draw)).tolist())))
    assert (
        np.max(np.abs(revolved.moments().J - expected.moments().J))
        < 1e-12 * revolved.moments().J[0, 0]
    )


def test_words_and_dimensions_are_no_lines() -> None:
    def draw(space) -> None:
        corners(space)
        space.add_text("as cast")
        space.add_mtext("in mm")
        space.add_linear_dim(base=(0, 30), p1=(0, 20), p2=(30, 20)).render()

    assert np.array_equal(read(drawing(draw)), read(drawing(corners)))


def test_other_layers_are_not_looked_at() -> None:
    def draw(space) -> None:
        block(space, "Kern für Ø 80")
        space.add_spline([(0, 0), (1, 2), (3, 3)], dxfattribs={"layer": "hatching"})

    for version in ("R2000", "R2010"):  # a code page, and UTF-8
        assert len(read(drawing(draw, version=version), "kern FÜR ø 80")) == 6
    with pytest.raises(FileError) as caught:
        read(drawing(draw))
    upright = drawing(lambda s: (block(s), s.add_circle((0, 0), 20, {"extrusion": (0, 1, 1)})))
    assert len(read(upright, "BLOCK")) == 6
    told = 'has a spline; name the outline\'s layer, one of "Kern für Ø 80", "hatching"'
    assert str(caught.value) == told


def test_an_arc_of_almost_a_circle_is_two() -> None:
    """A bulge is 10 at the most: 1° is left open of this one, and a line closes it."""
    bulge = np.tan(np.radians(359) / 4)

    def draw(space) -> None:
        space.add_lwpolyline([(20, 0, bulge * 9), (20.1, 0)], format="xyb", close=True)

    found = read(drawing(draw), axis=False)
    assert len(found) >= 3
    assert np.max(np.abs(found[:, 2])) <= 10
    inner = drawing(lambda space: space.add_lwpolyline([(20, 0, 1), (21, 0, 1)], "xyb", close=True))
    assert read(inner, axis=False)[:, 2].tolist() == [1, 1]


def gap(space) -> None:
    space.add_lwpolyline([(0, -20), (30, -20), (30, 20), (0.5, 20)])


def tilted(space) -> None:
    space.add_circle((0, 0), 20, dxfattribs={"extrusion": (0, 1, 1)})


def steep(space) -> None:
    space.add_line((0, 0, 0), (0, 10, 5))


def curved(space) -> None:
    space.add_polyline2d([(0, 0), (10, 0), (10, 10)], close=True).dxf.flags |= 4


def nowhere(space) -> None:
    space.add_line((0, 0), (float("nan"), 10))


def bent_by_nothing(space) -> None:
    space.add_lwpolyline([(0, 0, float("nan")), (9, 0, 0), (9, 9, 0)], "xyb", close=True)


def two(space) -> None:
    space.add_circle((10, 0), 3)
    space.add_circle((20, 0), 3)


@pytest.mark.parametrize(
    ("draw", "told"),
    [
        (lambda _: None, "has no lines or arcs; draw the outline in model space"),
        (gap, "is open at (0.5, 20); the nearest end is 40 away, at (0, -20); join the ends, or"),
        (two, "has 2 closed lines, but an outline is one; keep one of them"),
        (tilted, "has a faulty CIRCLE (it isn't drawn in the x-y plane)"),
        (steep, "isn't flat: z goes from 0 to 5; draw it in the x-y plane"),
        (curved, "has POLYLINE, which is not a line or arc; draw only lines, arcs, circles"),
        (nowhere, "has a faulty LINE (it has a coordinate that is not a number)"),
        (bent_by_nothing, "has a faulty LWPOLYLINE (it has a coordinate that is not a number)"),
        (lambda s: s.add_circle((0, 0, float("nan")), 3), "(it has a height that is not a number)"),
        (lambda space: space.add_ellipse((0, 0), (3, 0), 0.5), "has an ellipse; draw only lines"),
        (lambda space: space.add_blockref("X", (0, 0)), "has a block reference; draw only lines"),
        (
            lambda space: space.add_3dface([(0, 0), (1, 0), (1, 1)]),
            "has 3DFACE, which is not a line",
        ),
        (lambda space: space.add_polyline2d([]), "has a faulty POLYLINE (it has no vertices)"),
    ],
)
def test_what_is_no_outline_is_refused(draw, told) -> None:
    with pytest.raises(FileError) as caught:
        read(drawing(draw))
    assert told in str(caught.value)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty; save the drawing as DXF again"),
        (b" \r\n", "is empty"),
        (b"hello", "is not a DXF file (Invalid group code"),
        (b"\x00\xff" * 50, "is not a DXF file"),
        (b"solid x\nfacet normal 0 0 1\n", "is not a DXF file"),
        (b"0\nSECTION\n", "is cut short, or not a DXF file (it ends too early); save the drawing"),
        (b"AC1032\x00\x00", "is a DWG; save it as an ASCII DXF"),
        (b"AutoCAD Binary DXF\r\n\x1a\x00", "is a binary DXF; save it as an ASCII DXF"),
        (b"0\nEOF\n", "has no lines or arcs"),
        (
            drawing(block).replace(b"\nARC\n", b"\nAcDbArc\n"),
            (
                "has AcDbArc, which is not a line or arc; name the outline's layer, one of "
                '"BLOCK", "0"'
            ),
        ),
    ],
)
def test_what_is_no_drawing_is_refused(content, told) -> None:
    with pytest.raises(FileError) as caught:
        read(content)
    assert told in str(caught.value)


def test_a_drawing_that_is_cut_or_damaged_is_refused_wherever_it_is() -> None:
    """Cut anywhere, or a byte changed: an outline that is as it was, or one clear error."""
    content, rng = drawing(block), np.random.default_rng(5)
    whole, refused = read(content), 0
    for at in rng.integers(0, len(content) - 6, 25).tolist():
        with pytest.raises(FileError):
            read(content[:at])
    for at in rng.integers(0, len(content), 60).tolist():
        damaged = content[:at] + bytes([(content[at] + 7) % 128]) + content[at + 1 :]
        try:
            read(damaged)
        except FileError:
            refused += 1
    assert 0 < refused < 60
    assert len(whole) == 6


@pytest.mark.parametrize(
    ("units", "unit", "told"),
    [
        (0, None, 'gives no unit ($INSUNITS); add unit = "in" or unit = "mm" to file and layer'),
        (1, "mm", 'is drawn in inches ($INSUNITS), but unit says "mm"; correct the one that is'),
        (13, "mm", "is in an unknown unit ($INSUNITS is 13); save it in inches or millimetres"),
    ],
)
def test_a_unit_that_is_not_clear_is_refused(units, unit, told) -> None:
    with pytest.raises(FileError) as caught:
        read(drawing(corners, units=units), unit=unit)
    assert told in str(caught.value)


def test_an_unknown_layer_is_told_with_those_there_are() -> None:
    with pytest.raises(FileError, match='nothing drawn on it; did you mean "BLOCK"'):
        read(drawing(block), "BLOK")


def test_without_ezdxf_it_is_said(monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    with pytest.raises(FileError, match=r'pip install "samespin\[cad\]"'):
        read(drawing(corners) + b"\n")


# As a shape's outline


def shape(content: bytes, outline="x.dxf", of=Revolved, **more):
    reading = Reading(length=2.54, files={"x.dxf": content}.__getitem__)
    return of.model_validate({"outline": outline, **more}, context=reading)


def test_lengths_of_a_drawing_are_not_the_scenarios() -> None:
    """A drawing in mm in a scenario in inches: 30 mm are 3 cm."""
    assert shape(drawing(corners)).outline == ((0, -2, 0), (3, -2, 0.5), (3, 2, 0), (0, 2, 0))
    bar = shape(drawing(corners), {"file": "x.dxf"}, Extruded, height=1.0)
    assert (bar.height, bar.outline[1]) == (2.54, (3, -2, 0.5))


def test_an_outline_is_written_back_as_its_vertices_in_the_scenarios_unit() -> None:
    one = shape(drawing(corners))
    told = one.model_dump(mode="json", context=Reading(length=2.54))
    assert told["outline"][1] == [pytest.approx(3 / 2.54), pytest.approx(-2 / 2.54), 0.5]
    again = Revolved.model_validate(told, context=Reading(length=2.54))
    assert np.max(np.abs(np.array(again.outline) - one.outline)) < 2e-11


def bow(space) -> None:
    space.add_lwpolyline([(0, 0), (10, 0), (2, 8), (10, 8), (0, 0.5)], close=True)


@pytest.mark.parametrize(
    ("draw", "told"),
    [
        (bow, 'file "x.dxf": outline crosses or touches itself'),
        (lambda s: s.add_circle((1, 0), 3), 'file "x.dxf": outline crosses the axis'),
        (lambda s: s.add_circle((1200, 0), 3), 'file "x.dxf" reaches 120.3 cm from its origin'),
        (two, 'file "x.dxf" has 2 closed lines'),
    ],
)
def test_a_drawn_outline_is_checked_as_a_written_one_is(draw, told) -> None:
    with pytest.raises(ValidationError) as caught:
        shape(drawing(draw))
    assert told in str(caught.value)


def test_the_place_of_a_fault_is_told_in_the_scenarios_unit() -> None:
    """Lines x + y = 10 and y = ½ + ¾x cross at x = 9.5 / 1.75 = 5.42857 mm: 0.213723 in."""
    with pytest.raises(ValidationError, match=r"meet near \(0\.213723, 0\.179978\)"):
        shape(drawing(bow))
