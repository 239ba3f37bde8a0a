"""What a sound scenario reads as, checked by hand in cm, g and g/cm³."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from optimizer.ball.figures import DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL, LOW_RG
from optimizer.ball.targets import Span
from optimizer.scenario import Scenario, linear_maps, read_scenario, scenario

Read = Callable[..., Scenario]


def test_quantities_become_cm_and_g(read: Read) -> None:
    """1 in = 2.54 cm, 1 lb = 453.59237 g (exact: international yard and pound, 1959)."""
    one = read()
    assert (
        one.target[LOW_RG].low == one.target[LOW_RG].high == pytest.approx(2.55 * 2.54, rel=1e-15)
    )
    assert one.target[DIFFERENTIAL].tolerance == pytest.approx(0.001 * 2.54, rel=1e-15)
    assert [c.label for c in one.classes] == ["16", "15"]
    assert one.classes[0].mass == pytest.approx(15.90 * 453.59237, rel=1e-15)
    assert one.classes[0].tolerance == pytest.approx(0.06 * 453.59237, rel=1e-15)
    assert one.classes[1].tolerance == pytest.approx(0.05 * 453.59237, rel=1e-15)
    assert one.arm == pytest.approx(8.5 * 2.54 / 2, rel=1e-15)
    shell = one.pours[0]
    assert (shell.part, shell.material, shell.low, shell.high) == ("cover", "shell", 1.12, 1.22)
    assert shell.tolerance == 0.010
    assert one.pours[1].fixed


def test_the_same_ball_in_other_units_is_the_same_ball(read: Read, sound: str) -> None:
    """Every length, weight, density and RG converted by hand: the maps agree to rounding."""
    metric = sound
    for key, unit in (("length", "mm"), ("weight", "kg"), ("density", "kg/m3"), ("rg", "mm")):
        line = next(row for row in sound.splitlines() if row.startswith(f"{key} "))
        metric = metric.replace(line, f'{key} = "{unit}"', 1)
    inch, pound = 25.4, 0.45359237
    lengths = {
        "wide = 4.00": f"wide = {4 * inch}",
        "16 = 0.30, 15 = 0.20": f"16 = {0.3 * inch}, 15 = {0.2 * inch}",
        "diameter = 8.500": f"diameter = {8.5 * inch}",
        "height = 6.00": f"height = {6 * inch}",
        "diameter = 1.00, height = 4.00": f"diameter = {inch}, height = {4 * inch}",
        "diameter = 6.00, thickness = 0.80": f"diameter = {6 * inch}, thickness = {0.8 * inch}",
        "min = 0.10": f"min = {0.1 * inch}",
        "min = 0.05": f"min = {0.05 * inch}",
    }
    others = {
        "2.550": f"{2.55 * inch}",
        "0.042": f"{0.042 * inch}",
        "weight = 0.06, rg = 0.003, differential = 0.001": f"weight = {0.06 * pound}, "
        f"rg = {0.003 * inch}, differential = {0.001 * inch}",
        "16 = 15.90": f"16 = {15.9 * pound}",
        "target = 15.12, tolerance = 0.05": f"target = {15.12 * pound}, tolerance = {0.05 * pound}",
        "[1.12, 1.22]": "[1120, 1220]",
        "tolerance = 0.010": "tolerance = 10",
        "density   = 0.80": "density   = 800",
    }
    for old, new in (lengths | others).items():
        assert old in metric
        metric = metric.replace(old, new, 1)
    theirs = scenario(metric, file="t.toml", target_required=True)
    for a, b in zip(linear_maps(read()), linear_maps(theirs), strict=True):
        np.testing.assert_allclose(a.moments, b.moments, rtol=1e-12, atol=1e-9)
        assert (a.mass, a.mass_tolerance, a.radius, a.arm) == pytest.approx(
            (b.mass, b.mass_tolerance, b.radius, b.arm), rel=1e-14
        )
        for p, q in zip(a.pours, b.pours, strict=True):
            assert (p.low, p.high) == pytest.approx((q.low, q.high), rel=1e-14)
        walls = [[wall.thickness for wall in linear_map.walls] for linear_map in (a, b)]
        assert walls[0] == pytest.approx(walls[1], abs=1e-6)
        assert dataclasses.astuple(a.target[LOW_RG]) == pytest.approx(
            dataclasses.astuple(b.target[LOW_RG])
        )


def test_a_named_dimension_is_the_same_as_its_number(read: Read) -> None:
    named = read()
    spelt = read('diameter = "wide"', "diameter = 4.00")
    assert [c.parts for c in named.classes] == [c.parts for c in spelt.classes]


def test_one_name_ties_several_places(sound: str) -> None:
    """The name of the core's diameter in the belt's thickness too: both follow it."""
    source = sound.replace("wide = 4.00", "wide = 0.9").replace("diameter = 1.00", "diameter = 0.5")
    source = source.replace("thickness = 0.80", 'thickness = "wide"')
    tied = scenario(source, file="t.toml", target_required=True)
    _, core, _, belt = (part.shape.model_dump() for part in tied.classes[0].parts)
    assert core["diameter"] == belt["thickness"] == pytest.approx(0.9 * 2.54)


def test_each_weight_has_its_own_mould(read: Read) -> None:
    heights = [class_drawing.parts[1].placement.at[2] / 2.54 for class_drawing in read().classes]
    assert heights == pytest.approx([0.30, 0.20])


def test_weights_with_equal_moulds_share_them(read: Read) -> None:
    """One object, and so one set of walls and moments: they are computed once."""
    first, second = linear_maps(read("15 = 0.20 }", "15 = 0.30 }"))
    assert first.parts is second.parts
    assert first.moments is second.moments
    assert first.walls is second.walls
    first, second = linear_maps(read())
    assert first.parts is not second.parts


def test_regions_add_up_to_the_ball(read: Read) -> None:
    """The own volumes of all parts are those of a sphere of 8.5 in: π/6 · d³."""
    for linear_map in linear_maps(read()):
        ball = np.pi / 6 * (8.5 * 2.54) ** 3
        assert float(linear_map.volumes.sum()) == pytest.approx(ball, rel=1e-13)


def test_a_density_from_the_command_line_fixes_that_pour_only(read: Read) -> None:
    """Cover and belt share a material; only the cover is fixed. 1.16 g/cm³ as written."""
    pours = {pour.part: pour for pour in read(densities={"cover": 1.16}).pours}
    assert (pours["cover"].low, pours["cover"].high) == (1.16, 1.16)
    assert (pours["belt"].low, pours["belt"].high) == (1.12, 1.22)


@pytest.mark.parametrize(
    ("written", "groups"),
    [
        ('"all"', (("16", "15"),)),
        ('"none"', ()),
        ('[["15", "16"]]', (("15", "16"),)),
    ],
)
def test_sharing_is_told_in_groups_of_labels(
    read: Read, written: str, groups: tuple[tuple[str, ...], ...]
) -> None:
    one = read('material = "shell"', f'material = "shell"\nsame_density = {written}')
    assert one.sharing == {"cover": groups, "core": (), "heart": (), "belt": ()}


def test_a_target_may_be_a_span(read: Read) -> None:
    one = read("rg           = 2.550", 'rg = { min = 2.5, max = 2.6 }\nabout = "centre"')
    assert one.target[LOW_RG] == Span(2.5 * 2.54, 2.6 * 2.54, one.target[LOW_RG].tolerance)
    assert not one.target[LOW_RG].fixed
    assert one.about == "centre"
    assert INTERMEDIATE_DIFFERENTIAL not in one.target


def test_a_rulebook_is_named_or_a_table(read: Read) -> None:
    short = read().text.limits.rulebook
    table = read('"usbc"', '{ name = "usbc" }').text.limits.rulebook
    assert short == table is not None
    every = read('"usbc"', '{ name = "usbc", all_weights = true }').text.limits.rulebook
    assert every is not None
    assert every.all_weights


def test_a_balance_arm_is_a_length(read: Read) -> None:
    assert read('revision = "A"', 'revision = "A"\nbalance_arm = 5.0').arm == 5.0 * 2.54


def test_rotation_and_stretch_reach_the_mould(read: Read) -> None:
    """Stretched by 2 along x: twice the volume. 90° about y: what was along z lies along x."""
    name = 'name     = "heart"'
    plain = read().classes[0].parts[2].moments()
    wide = read(name, f"{name}\nstretch = [2, 1, 1]").classes[0].parts[2].moments()
    assert wide.volume == pytest.approx(2 * plain.volume, rel=1e-14)
    lying = read(name, f"{name}\nrotate = [0, 90, 0]\nstretch = [1, 1, 0.5]")
    J = lying.classes[0].parts[2].moments().J
    assert J[0, 0] > J[1, 1] == pytest.approx(J[2, 2])


def test_a_byte_order_mark_and_windows_line_ends_are_read(sound: str, tmp_path: Path) -> None:
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + sound.replace("\n", "\r\n").encode())
    one = read_scenario(path, target_required=True)
    assert one.name == "Test"
    assert one.places["units",].line == 4
    assert one.file == str(path)


def test_places_lead_to_the_keys(read: Read) -> None:
    place = read().places["materials", "shell", "tolerance"]
    assert (place.line, place.column) == (25, 1)
