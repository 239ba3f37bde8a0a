"""Balls in section: what is drawn is the mould's own section, and what is printed its figures."""

from __future__ import annotations

import re

import numpy as np
import pytest
from lines import line_text
from optimizer_texts import JUNIPER
from pictured import area, assert_apart, boxes, outline

from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes import SHAPES
from optimizer.lineup.pipeline import solve_lineup
from optimizer.report.pictures.cividis import STOPS, colour, ink, luminance
from optimizer.report.pictures.heat import heat
from optimizer.report.pictures.paths import path
from optimizer.report.pictures.strip import RADIUS, strip
from optimizer.scenario import read_scenario, scenario
from shared.units import INCH


@pytest.fixture(scope="module", params=[(3, 1, False), (5, 3, True), (8, 5, False), (12, 8, True)])
def result(request):
    parts, weights, metric = request.param
    text = line_text(parts, weights, metric=metric)
    return solve_lineup(scenario(text, file="hazel.toml", target_required=True))


@pytest.fixture(scope="module")
def juniper():
    return solve_lineup(read_scenario(JUNIPER, target_required=True))


def exact(shape) -> float:
    """The area of a shape's own section by x and z, by the formulas of the plane."""
    kind, one = shape.kind, shape
    if kind == "revolved":
        v = np.array(one.outline)
        x, z, bulge = v.T
        chord = np.hypot(np.roll(x, -1) - x, np.roll(z, -1) - z)
        angle = 4 * np.arctan(bulge)
        with np.errstate(divide="ignore", invalid="ignore"):
            radius = np.where(bulge == 0, 0.0, chord / (2 * np.abs(np.sin(angle / 2))))
        segments = np.sign(angle) * radius**2 * (np.abs(angle) - np.sin(np.abs(angle))) / 2
        return 2 * (area(v[:, :2]) + float(np.sum(segments)))
    if kind == "dome":
        R, h = one.sphere / 2, one.height
        return R**2 * np.arccos((R - h) / R) - (R - h) * np.sqrt(2 * R * h - h**2)
    return {
        "sphere": lambda: np.pi * one.diameter**2 / 4,
        "spheroid": lambda: np.pi * one.diameter * one.height / 4,
        "ellipsoid": lambda: np.pi * one.diameters[0] * one.diameters[2] / 4,
        "cylinder": lambda: one.diameter * one.height,
        "cone": lambda: (one.bottom + one.top) / 2 * one.height,
        "capsule": lambda: np.pi * one.diameter**2 / 4 + one.diameter * (one.height - one.diameter),
        "ring": lambda: 2 * np.pi * one.thickness**2 / 4,
        "box": lambda: one.size[0] * one.size[2],
    }[kind]()


@pytest.mark.parametrize("kind", SHAPES)
def test_a_drawn_section_has_the_area_of_the_shape(kind):
    """Stretched by 1.3 × 0.8 and turned within the plane, to a tenth of a per cent."""
    shape = kind.example()
    part = Part("p", None, shape, Placement((0.4, 0.0, -0.3), (0, 25, 0), (1.3, 1.0, 0.8)))
    drawn = sum(area(loop) for loop in outline(path(part.section(), 12.0, (100.0, 100.0))))
    assert drawn / 12.0**2 == pytest.approx(1.3 * 0.8 * exact(shape), rel=1e-3)


def test_the_balls_of_a_line_are_drawn_to_scale(juniper):
    """Juniper's cover is 8.580 in across; its keel a capsule of 2.20 × 5.00 in."""
    scale = RADIUS / (8.580 / 2)
    for picture in strip(juniper).each[:-1]:
        parts = re.findall(r"class='part' d='([^']+)'", picture.file())
        cover, keel = outline(parts[0])[0], outline(parts[4])[0]
        assert area(cover) == pytest.approx(np.pi * RADIUS**2, rel=1e-3)
        capsule = np.pi * 1.1**2 + 2.20 * (5.00 - 2.20)
        assert area(keel) == pytest.approx(capsule * scale**2, rel=1e-3)
        x, y = keel.T
        assert np.ptp(x) == pytest.approx(2.20 * scale, abs=0.05)
        assert np.ptp(y) == pytest.approx(5.00 * scale, abs=0.05)
        middle = np.mean([np.min(y), np.max(y)]) - np.mean([cover[:, 1].min(), cover[:, 1].max()])
        lift = juniper.weights[0].ball.map.parts[3].matrix[2, 3] / INCH
        assert -middle == pytest.approx(lift * scale, abs=0.05)


def test_words_do_not_collide(result):
    for picture in (*strip(result).each, heat(result).whole):
        assert_apart(picture)


def test_every_name_and_density_is_printed_as_measured(result):
    digits, factor = (1, 1e-3) if "kg/m3" in result.scenario.source else (4, 1.0)
    for weight, picture in zip(result.weights, strip(result).each, strict=False):
        words = [word.split(", at ")[0] for word, *_ in boxes(picture)]
        for part, density in zip(weight.ball.map.pours, weight.ball.densities, strict=True):
            assert any(
                re.fullmatch(rf"{part.part} ({density / factor:.{digits}f}|[\d.]+)", word)
                and abs(float(word.split()[-1]) * factor - density) <= 0.51 * factor * 10**-digits
                for word in words
            )


def test_dots_lie_in_the_material_that_they_name(result):
    """A dot's place, taken back to cm, is inside its part and in no part within it."""
    for weight, picture in zip(result.weights, strip(result).each, strict=False):
        map_ = weight.ball.map
        scale = RADIUS / map_.radius
        found = re.findall(
            r"class='dot' cx='([\d.]+)' cy='([\d.]+)'.*?\n<text[^>]*>([^<]+)<", picture.file()
        )
        assert len(found) == len(map_.parts)
        (left,) = re.findall(r"<path d='M ([\d.]+),[\d.]+ v ", picture.file())
        by_name = {part.name: part for part in map_.parts}
        for x, y, words in found:
            name = max((n for n in by_name if words.startswith(n + " ")), key=len)
            at = np.array([[(float(x) - float(left)) / scale, 0.0, (156.0 - float(y)) / scale]])
            assert by_name[name].surface.inside(at)[0]
            for other in map_.parts:
                assert other.inside != name or not other.surface.inside(at)[0]


def test_leaders_do_not_cross(result):
    """From the column to their heights they keep their order; then they are level, and apart."""
    for picture in strip(result).each[:-1]:
        ways = re.findall(
            r"class='leader' d='M [\d.]+,([\d.]+) L [\d.]+,([\d.]+) H", picture.file()
        )
        starts, levels = (sorted(float(way[k]) for way in ways) for k in (0, 1))
        assert [tuple(map(float, way)) for way in ways] == sorted(zip(starts, levels, strict=True))
        assert len(levels) == 1 or min(np.diff(levels)) > 2.0


def test_what_is_at_an_end_of_its_range_is_hatched_and_says_so(result):
    for weight, picture in zip(result.weights, strip(result).each, strict=False):
        ends = sum(
            min(abs(d - pour.low), abs(d - pour.high)) < 5e-5
            for d, pour in zip(weight.ball.densities, weight.ball.map.pours, strict=True)
        )
        assert picture.file().count("class='hatch'") == ends
        said = [word for word, *_ in boxes(picture) if re.search(", at (most|least)$", word)]
        assert len(said) == ends


def test_bars_of_the_heat_table_are_where_densities_are(juniper):
    picture = heat(juniper).whole.file()
    marks = re.findall(r"class='at' d='M ([\d.]+),", picture)
    boxes_ = re.findall(r"class='cell' x='([\d.]+)'", picture)
    told = [
        (float(w.ball.densities[i]), pour)
        for i, pour in enumerate(juniper.weights[0].ball.map.pours)
        for w in juniper.weights
    ]
    assert len(marks) == len(boxes_) == len(told)
    for mark, box, (density, pour) in zip(marks, boxes_, told, strict=True):
        share = (float(mark) - float(box) - 8) / (88 - 16)
        assert share == pytest.approx((density - pour.low) / (pour.high - pour.low), abs=0.01)


def test_the_same_bytes_twice(juniper):
    assert strip(juniper) == strip(juniper)
    assert heat(juniper) == heat(juniper)


def test_colours_are_cividis():
    """Matplotlib's table of it (256 colours), to two steps of 255 in each channel."""
    matplotlib = pytest.importorskip("matplotlib")
    table = np.array(matplotlib.colormaps["cividis"].colors)
    ours = [[int(colour(k / 255)[i : i + 2], 16) for i in (1, 3, 5)] for k in range(256)]
    assert np.max(np.abs(np.array(ours) - 255 * table)) <= 2.0


def test_colours_grow_lighter_and_words_on_them_can_be_read():
    """So they can be told apart in grey; contrast is 4.5 to 1 at the least (WCAG 2.2, 1.4.3)."""
    lights = []
    for k in range(256):
        code = colour(k / 255)
        light = luminance([int(code[i : i + 2], 16) for i in (1, 3, 5)])
        over = 0.0 if ink(k / 255) == "black" else 1.0
        high, low = max(light, over) + 0.05, min(light, over) + 0.05
        assert high / low >= 4.5
        lights.append(light)
    assert np.all(np.diff(lights) > -2e-3)
    assert lights[255] > lights[0] + 0.7
    assert len(STOPS) < 20
