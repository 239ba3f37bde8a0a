"""Drawings of moulds, read back with ezdxf: areas and extents against the closed forms."""

from __future__ import annotations

import io
import math
import os
import subprocess
import sys
from collections import defaultdict
from functools import partial
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from optimizer_texts import INCHES, cover, head

from geometry.outlines.outline import Outline
from geometry.shapes.dxf import dxf_outline
from optimizer.paper.document import Report
from optimizer.paper.writers import dxf
from optimizer.paper.writers.drawing import mould_drawing
from shared.errors import InputError

ROOT = Path(__file__).parents[3]
TALL = "[dimensions]\ntall = { each = { 15 = 4.0, 12 = 4.5 } }\n"
INNER = {
    "keel": ('{ kind = "capsule", diameter = 1.2, height = "tall" }', "[0, 0, 0.2]", ""),
    "egg": ('{ kind = "spheroid", diameter = 1.0, height = 3.0 }', "[-2, 0, 0]", ""),
    "girdle": ('{ kind = "ring", diameter = 6.8, thickness = 0.4 }', "[0, 0, 0]", ""),
    "bar": ('{ kind = "box", size = [0.4, 0.5, 1.5] }', "[2, 0, 0]", "rotate = [0, 30, 0]"),
    "pill": (
        '{ kind = "capsule", diameter = 0.5, height = 1.0 }',
        "[1.3, 0, 0]",
        "stretch = [0.5, 0.5, 1]",
    ),
    "peg*": (
        '{ kind = "cylinder", diameter = 0.3, height = 1 }',
        "[0, 0, 3]",
        "rotate = [20, 0, 0]",
    ),
}


def mould(unit: str = "in", scale: float = 1.0) -> str:
    """Return a cover of some density, the lengths of ball and target so many times as long."""
    units = INCHES | {"length": unit, "rg": unit}
    weights, target = {"15": 15.1, "12": 12.1}, (2.55 * scale, 0.03)
    top = head("Rowan", weights, target, revision="C", units=units)
    return top + cover(8.58 * scale, low=0.5, tolerance=0.01)


def text(unit: str = "in") -> str:
    parts = [
        f'[[parts]]\nname = "{name}"\ninside = "cover"\nshape = {shape}\nat = {at}\n{more}\n'
        'material = "any"\n'
        for name, (shape, at, more) in INNER.items()
    ]
    return mould(unit) + TALL + "".join(parts)


@pytest.fixture
def written(lineup):
    """A function that draws a text's moulds and returns the file."""

    def write(source: str) -> bytes:
        densities = dict.fromkeys(("15", "12"), (1.1,) * (len(INNER) + 1))
        result = lineup(source, densities)
        return dxf.encoded(Report((), {}, partial(mould_drawing, result)))

    return write


def read(content: bytes):
    document = ezdxf.read(io.StringIO(content.decode()))
    assert not document.audit().errors
    return document


def segments(polyline) -> float:
    """The area of a closed polyline: the shoelace of its corners, and a segment for each bulge."""
    points = polyline.get_points("xyb")
    total = 0.0
    for (x, y, bulge), (u, v, _) in zip(points, points[1:] + points[:1], strict=True):
        theta = 4 * math.atan(bulge)
        chord = math.hypot(u - x, v - y)
        radius = chord / (2 * math.sin(theta / 2)) if theta else 0.0
        total += (x * v - u * y) / 2 + radius**2 * (theta - math.sin(theta)) / 2
    return abs(total)


def swept(entity) -> float:
    """Half of x dy − y dx along a line or an arc of an ellipse, by many short steps."""
    if entity.dxftype() == "LINE":
        points = np.array([entity.dxf.start, entity.dxf.end])[:, :2]
    else:
        at = np.linspace(entity.dxf.start_param, entity.dxf.end_param, 20001)
        points = np.array([tuple(p) for p in entity.vertices(at)])[:, :2]
    (x, y), (u, v) = points[:-1].T, points[1:].T
    return float(np.sum(x * v - u * y)) / 2


def areas(document) -> dict[str, list[float]]:
    found = defaultdict(list)
    for one in document.modelspace().query("LWPOLYLINE"):
        assert one.closed
        found[one.dxf.layer].append(segments(one))
    for one in document.modelspace().query("ELLIPSE"):
        if one.dxf.end_param - one.dxf.start_param == pytest.approx(2 * math.pi):
            half = one.dxf.major_axis.magnitude
            found[one.dxf.layer].append(math.pi * half**2 * one.dxf.ratio)
    return found


def test_the_lines_enclose_the_sections_in_closed_form(written):
    """π/4 d², π/4 d·h, d·(h − d) + π/4 d²: of two moulds, each cut by x-z and by y-z."""
    found = areas(read(written(text())))
    quarter = math.pi / 4
    assert found["cover"] == pytest.approx([quarter * 8.58**2] * 4, rel=1e-12)
    assert found["egg"] == pytest.approx([quarter * 3.0] * 2, rel=1e-12)
    assert found["girdle"] == pytest.approx([quarter * 0.16] * 8, rel=1e-12)
    assert found["bar"] == pytest.approx([0.4 * 1.5] * 2, rel=1e-12)
    assert found["keel"] == pytest.approx(
        [1.2 * (tall - 1.2) + quarter * 1.44 for tall in (4.0, 4.0, 4.5, 4.5)], rel=1e-12
    )


def test_a_stretched_capsule_is_quarters_of_ellipses_and_two_lines(written):
    """Their steps, end to end, enclose what the capsule does, halved across."""
    document = read(written(text()))
    some = [e for e in document.modelspace() if e.dxf.layer == "pill"]
    one = [e for e in some if abs(_ends(e)[0].x - 1.3) < 2]
    assert sorted(e.dxftype() for e in one) == ["ELLIPSE"] * 4 + ["LINE"] * 2
    ends = sorted((round(p.x, 9), round(p.y, 9)) for e in one for p in _ends(e))
    assert ends[::2] == ends[1::2]
    area = abs(sum(swept(e) for e in _oriented(one)))
    assert area == pytest.approx((0.5 * 0.5 + math.pi / 16) / 2, rel=1e-6)


def _ends(entity):
    if entity.dxftype() == "LINE":
        return entity.dxf.start, entity.dxf.end
    return entity.start_point, entity.end_point


def _oriented(some):
    """The entities counter-clockwise about the middle of the pill, which is convex."""
    for e in some:
        a, b = _ends(e)
        if (a.x - 1.3) * b.y - a.y * (b.x - 1.3) < 0:
            assert e.dxftype() == "LINE"  # an arc of an ellipse always runs counter-clockwise
            e.dxf.start, e.dxf.end = b, a
        yield e


def test_what_is_followed_by_chords_says_so_and_the_rest_is_exact(written):
    document = read(written(text()))
    told = {layer.dxf.name: layer.description for layer in document.layers}
    cut = "x-z section, not all of its shape; chords within 0.0001 in"
    assert told["peg_"] == f"{cut}; y-z section, not all of its shape; exact"
    assert told["keel"] == "turned about the pin axis; exact"
    assert told["bar"] == "not cut by the y-z plane; x-z section, not all of its shape; exact"
    area = math.pi * 0.15**2 / math.sin(math.radians(20))  # an ellipse: its ends are not reached
    assert areas(document)["peg_"] == pytest.approx([area, 0.3 * 1.0] * 2, rel=2e-4)


def test_extents_are_the_dimensions_and_moulds_stand_apart(written):
    document = read(written(text()))
    covers = document.modelspace().query('LWPOLYLINE[layer=="cover"]')
    middles = []
    for one in covers:
        x, y, _ = np.array(one.get_points("xyb")).T
        assert np.hypot(x[1] - x[0], y[1] - y[0]) == pytest.approx(8.58, rel=1e-12)
        middles.append(x.mean())
    assert len(middles) == 4
    assert np.all(np.diff(middles) > 1.2 * 8.58)
    texts = [one.dxf.text for one in document.modelspace().query("TEXT")]
    for line in ("Rowan, revision C", "Mould for 15 lb", "tall = 4.5 in"):
        assert line in texts
    assert "Sections as drawn, no shrinkage allowed for" in texts
    where = [line for line in texts if line.startswith("All lengths in inches")]
    assert f"({middles[1]:g}, 0)" in where[1]


@pytest.mark.parametrize(("unit", "code"), [("in", 1), ("mm", 4)])
def test_units_are_the_scenarios(lineup, tilted, metric, unit, code):
    """The same two ellipsoids in inches and in millimetres."""
    result = lineup(tilted if unit == "in" else metric)
    document = read(dxf.encoded(Report((), {}, partial(mould_drawing, result))))
    assert document.header["$INSUNITS"] == code
    assert document.header["$MEASUREMENT"] == (unit == "mm")
    cover, _ = document.modelspace().query('LWPOLYLINE[layer=="cover"]')
    x, y, _ = np.array(cover.get_points("xyb")).T
    across = np.hypot(x[1] - x[0], y[1] - y[0])
    assert across == pytest.approx({"in": 8.58, "mm": 217.932}[unit], rel=1e-12)


def test_weights_with_one_mould_share_its_drawing(lineup, tilted):
    drawing = mould_drawing(lineup(tilted))
    assert [mould.name for mould in drawing.moulds] == ["15 lb and 12 lb"] * 2
    assert [mould.notes[2] for mould in drawing.moulds] == [
        f"Section by the {plane} plane; z runs through the pin, which is at the top"
        for plane in ("x-z", "y-z")
    ]


def test_the_same_moulds_are_the_same_bytes(written):
    first = written(text())
    assert written(text()) == first
    assert not ezdxf.options.write_fixed_meta_data_for_testing  # others are left alone


def test_the_bytes_do_not_depend_on_the_order_of_sets(tmp_path):
    """Python orders sets of strings by a hash with a seed of its own for each process."""
    file = str(ROOT / "scenarios" / "rowan.toml")
    for seed in ("1", "4"):
        words = ("solve", file, "-o", f"{seed}.dxf")
        subprocess.run(  # noqa: S603 - our own program
            [sys.executable, "-m", "optimizer.cli", *words],
            cwd=tmp_path, env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
            capture_output=True, check=True,
        )  # fmt: skip
    assert (tmp_path / "1.dxf").read_bytes() == (tmp_path / "4.dxf").read_bytes()


def test_names_that_a_layer_cannot_have(written):
    """Layers go by their name without case; codes and line ends stay plain words."""
    source = text().replace('"egg"', '"KEEL"').replace('"girdle"', '"0"').replace("Rowan", "%%c^J")
    document = read(written(source))
    names = [layer.dxf.name for layer in document.layers]
    assert {"keel", "KEEL 2", "0 2"} <= set(names)
    assert "% %c^ J, revision C" in [e.dxf.text for e in document.modelspace().query("TEXT")]


def test_no_mould_is_drawn_for_a_line_up_that_was_not_found(lineup):
    with pytest.raises(InputError, match="infeasible"):
        mould_drawing(lineup(status="infeasible"))


def test_without_ezdxf_one_line_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    with pytest.raises(InputError, match=r'pip install "samespin\[cad\]"'):
        dxf.required()


OUTLINES = {
    "block": [[0, -2.4], [1.6, -2.4], [1.0, 0], [1.6, 2.0, 0.35], [0, 2.9]],
    "bored": [[2.2, -0.5], [2.9, -0.5, 0.4], [2.9, 0.6], [2.2, 0.6, -0.1]],
    "bead": [[0, 3.1, 1], [0, 3.6]],
}


@pytest.mark.parametrize(("unit", "scale"), [("in", 1.0), ("mm", 25.4)])
def test_turned_parts_are_read_back_as_they_were_drawn(lineup, unit, scale) -> None:
    """By the reader of outlines, each from its own layer: whole sections come back as halves."""
    source = mould(unit, scale)
    for name, outline in OUTLINES.items():
        scaled = [[v * scale for v in corner[:2]] + corner[2:] for corner in outline]
        source += (
            f'[[parts]]\nname = "{name}"\ninside = "cover"\nmaterial = "any"\n'
            f'shape = {{ kind = "revolved", outline = {scaled} }}\n'
        )
    result = lineup(source, dict.fromkeys(("15", "12"), (1.1,) * 4))
    content = dxf.encoded(Report((), {}, partial(mould_drawing, result)))
    for part in result.weights[0].ball.map.parts[1:]:
        back = Outline(dxf_outline(content, part.name, None, axis=True)).vertices
        drawn = part.shape.profile().outline.vertices
        assert len(back) == len(drawn)
        apart = [np.max(np.abs(np.roll(back, k, axis=0) - drawn)) for k in range(len(drawn))]
        assert min(apart) < 1e-13
