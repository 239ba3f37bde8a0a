"""Files that a scenario names: where they are looked for, what is refused, and that they count."""

from __future__ import annotations

import os
import pickle
import tomllib
from pathlib import Path

import numpy as np
import pytest
import trimesh
from drawings import BLOCK, block, drawing
from jsonschema import Draft202012Validator
from optimizer_texts import INCHES, cover, head

from optimizer.lineup.moulds.chosen import with_chosen
from optimizer.questions.compare.differences import differences
from optimizer.questions.explore.candidate import candidate
from optimizer.scenario import read_again, read_scenario, scenario
from optimizer.scenario.moulds import Moulds
from optimizer.scenario.source.attachments import MOST, check_there, packed, unpacked
from optimizer.scenario.source.writing import fingerprint, part_text
from optimizer.scenario.text.schema import scenario_schema
from shared import untrusted
from shared.errors import InputError

TEXT = head("Hazel", {"16": 15.9, "15": 15.1}, (2.55, 0.042), units=INCHES | {"length": "mm"})
TEXT += cover(218)
TEXT += """\
[[parts]]
name = "block"
inside = "cover"
shape = { kind = "revolved", outline = OUTLINE }
material = "any"
[limits]
wall = { min = 5, tolerance = 0.5 }
"""
NAMED = '{ file = "block.dxf", layer = "BLOCK" }'
LINE = 1 + next(k for k, line in enumerate(TEXT.splitlines()) if "OUTLINE" in line)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a drawing in it, and one beside it."""
    (tmp_path / "line").mkdir()
    (tmp_path / "line" / "block.dxf").write_bytes(drawing(block))
    (tmp_path / "shared blöcke").mkdir()
    (tmp_path / "shared blöcke" / "der block.dxf").write_bytes(drawing(block))
    return tmp_path / "line"


def read(folder: Path, outline: str = NAMED, text: str = TEXT):
    path = folder / "hazel.toml"
    path.write_bytes(text.replace("OUTLINE", outline).encode())
    return read_scenario(path, target_required=True)


def test_a_drawn_block_is_the_one_written_out(folder, monkeypatch) -> None:
    """Looked for from the scenario's folder, wherever the command is run; closed forms the same."""
    monkeypatch.chdir(folder.parent)
    drawn = read(folder)
    written = scenario(
        TEXT.replace("OUTLINE", str([[10 * x, 10 * y, b] for x, y, b in BLOCK])),
        file="hazel.toml",
        target_required=True,
    )
    one, other = (some.classes[0].parts[1].shape.moments().J for some in (drawn, written))
    assert np.max(np.abs(one - other)) < 1e-7 * np.max(other)
    assert drawn.files == {"block.dxf": (folder / "block.dxf").read_bytes()}
    assert written.files == {}
    assert drawn.warnings == written.warnings


@pytest.mark.parametrize(
    "outline",
    [
        '{ file = "../shared blöcke/der block.dxf", layer = "block", unit = "mm" }',
        '"../shared blöcke/der block.dxf"',
        '"./block.dxf"',
        "'block.dxf'",
    ],
)
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_a_drawing_is_found_by_any_name_that_leads_to_it(
    folder, outline, newline, monkeypatch
) -> None:
    monkeypatch.setattr(untrusted._State, "allowed", (folder.parent,))
    found = read(folder, outline, TEXT.replace("\n", newline))
    assert len(found.classes[0].parts[1].shape.outline) == 6
    assert list(found.files) == [outline.split("'" if "'" in outline else '"')[1]]


def refused(folder: Path, outline: str, text: str = TEXT) -> str:
    with pytest.raises(InputError) as caught:
        read(folder, outline, text)
    (problem,) = caught.value.problems
    assert problem.file == str(folder / "hazel.toml")
    assert problem.line == LINE
    return str(problem).split(": ", 1)[1]


@pytest.mark.parametrize(
    ("outline", "told"),
    [
        (
            '"blok.dxf"',
            'outline: file "blok.dxf" does not exist; name it from the scenario',
        ),
        ('{ file = "block.dxf/x" }', 'file "block.dxf/x" does not exist'),
        ('"../line"', 'file "../line" is a folder; name a file in it'),
        ('"pipe"', 'file "pipe" is not an ordinary file; name one that is'),
        (
            '"/block.dxf"',
            'file "/block.dxf" has a name that does not work on other machines; name it',
        ),
        ('"C:block.dxf"', "has a name that does not work on other machines; name it from"),
        ("'cad\\block.dxf'", "has a name that does not work on other machines; name it from"),
        (r'"a\u0000b"', "can't be read: "),
        (f'"{"x" * 300}"', "can't be read: File name too long"),
        ('""', 'part "block" outline: is empty ("")'),
        ("{ layer = 'BLOCK' }", "outline file: is missing; add it: the drawing, a DXF file"),
        (
            "{ file = 'block.dxf', layr = 'X' }",
            'layr: is not a key here ("X"); did you mean "layer"',
        ),
        (
            "{ file = 'block.dxf', unit = 'ft' }",
            'unit: is not one of the choices ("ft"); write "in"',
        ),
        ("{ file = 3 }", "file: is not text (3); write it in quotes"),
        ("3", "outline: is not a list (3); write [ …, … ]"),
        (
            "{ file = 'block.dxf', layer = 'CORE' }",
            'file "block.dxf", layer "CORE" has nothing drawn on it; known: "BLOCK"',
        ),
        (
            "{ file = 'block.dxf', unit = 'in' }",
            'file "block.dxf" is drawn in millimetres ($INSUNITS), but unit says "in"',
        ),
        ("'hazel.toml'", 'file "hazel.toml" is not a DXF file (Invalid group code'),
    ],
)
def test_a_file_that_can_not_be_had_is_told_at_its_line(folder, outline, told) -> None:
    os.mkfifo(folder / "pipe")
    assert told in refused(folder, outline)


def test_a_file_that_is_too_large_or_locked_is_not_read(folder, monkeypatch) -> None:
    with (folder / "huge.dxf").open("wb") as stream:
        stream.truncate(MOST + 1)  # a hole: no room is taken
    assert 'file "huge.dxf" is larger than 100 MB; name a smaller one' in refused(
        folder, '"huge.dxf"'
    )
    text = folder / "hazel.toml"

    def locked(path: Path, *mode: str):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", locked)
    with pytest.raises(InputError, match=r'file "block.dxf" can\'t be read: Permission denied'):
        scenario(TEXT.replace("OUTLINE", NAMED), file=str(text), files=folder, target_required=True)


def test_a_text_alone_has_no_files() -> None:
    with pytest.raises(InputError, match=r'hazel.toml:25:\d+: .*"block.dxf" is not included with'):
        scenario(TEXT.replace("OUTLINE", NAMED), file="hazel.toml", target_required=True)


def test_a_drawing_that_is_no_turned_outline_is_told_with_file_and_layer(folder) -> None:
    def draw(space) -> None:
        space.add_lwpolyline([(0, -60), (40, -60), (40, 50)], dxfattribs={"layer": "BLOCK"})

    (folder / "block.dxf").write_bytes(drawing(draw))
    told = refused(folder, NAMED)
    assert 'file "block.dxf", layer "BLOCK" is open at (40, 50); the nearest end is' in told
    assert told.endswith("join the ends, or end on the axis, x = 0")


def test_names_of_files_and_layers_are_no_dimensions(folder) -> None:
    text = TEXT.replace("[weights]", "[dimensions]\nBLOCK = 3\n[weights]")
    assert read(folder, NAMED, text).warnings[0].endswith('dimension "BLOCK" is not used')


# What is read counts


def test_every_byte_of_a_file_is_in_the_fingerprint(folder) -> None:
    text = TEXT.replace("OUTLINE", NAMED)
    content, files = tomllib.loads(text), read(folder).files
    marks = {
        fingerprint(content),
        fingerprint(content, files),
        fingerprint(content, {"other.dxf": files["block.dxf"]}),
        fingerprint(content, {"block.dxf": files["block.dxf"] + b"\n"}),
        fingerprint(content, {**files, "other.dxf": b""}),
    }
    assert len(marks) == 5
    assert fingerprint(content, {}) == fingerprint(content)
    assert fingerprint(content, {"a": b"1", "b": b"2"}) == fingerprint(
        content, {"b": b"2", "a": b"1"}
    )


def test_a_file_that_changed_under_the_same_name_is_a_difference(folder) -> None:
    first = read(folder)
    (folder / "block.dxf").write_bytes(
        drawing(lambda space: (block(space), space.add_text("note", dxfattribs={"layer": "n"})))
    )
    (noted,) = differences(first, read(folder))
    assert noted.path == ("files", "block.dxf")
    taller = drawing(lambda space: space.add_circle((0, 0), 30, {"layer": "BLOCK"}))
    (folder / "block.dxf").write_bytes(taller)
    found = {difference.path for difference in differences(first, read(folder))}
    assert found == {("parts", "block", "shape", "outline"), ("files", "block.dxf")}
    assert differences(first, read_again(first.written, {})) == ()


FREE = TEXT.replace(
    '{ kind = "revolved", outline = OUTLINE }',
    '{ kind = "extruded", outline = { file = "bar.dxf" }, height = "tall" }',
).replace("[weights]", "[dimensions]\ntall = { min = 80, max = 120 }\n[weights]")


def test_what_was_read_once_is_read_again_without_the_file(folder) -> None:
    """In this process, by the search for a mould, and in another one, where no file is."""
    bar = drawing(lambda space: space.add_lwpolyline([(-30, -20), (30, -20), (20, 30)], close=True))
    (folder / "bar.dxf").write_bytes(bar)
    asked = read(folder, text=FREE)
    (folder / "bar.dxf").unlink()
    picked = {"tall": {"16": 90.0, "15": 90.0}}
    assert with_chosen(asked, picked).classes[0].parts[1].shape.height == 9.0
    mould = Moulds(asked).at("16", np.array([11.0]))
    assert mould.parts[1].shape.moments().J[3, 3] == pytest.approx(6 * 5 / 2 * 11)
    written = pickle.loads(pickle.dumps(asked.written))  # noqa: S301 - our own
    assert candidate(written, picked).status != "no mould"
    assert candidate(written, {"tall": {"16": 300.0, "15": 300.0}}).status == "no mould"


def test_a_part_as_solved_has_its_outline_written_out(folder) -> None:
    asked = read(folder)
    outline = part_text(asked.classes[0].parts[1], asked)["shape"]["outline"]
    assert outline[0] == [0, -60]
    assert outline[-1] == [0, 40]


# Carried along


def test_files_are_packed_and_unpacked_byte_for_byte() -> None:
    files = {"ä b.dxf": bytes(range(256)) * 3, "empty": b"", "text": b"a\r\nb\n"}
    told = packed(files)
    assert unpacked(told) == files
    assert told["empty"]["sha256"].startswith("e3b0c44298fc1c14")  # of nothing: FIPS 180-4
    assert told["text"]["bytes"] == 5
    assert unpacked(None) == {}


def test_a_mesh_of_five_thousand_triangles_is_small_however_it_is_written() -> None:
    """A page of 300 kB with a drawing stays under half a megabyte with it."""
    mesh = trimesh.creation.icosphere(subdivisions=4)
    mesh.apply_scale([1.0, 1.3, 2.1])
    for kind in ("stl", "stl_ascii", "obj", "ply"):
        told = mesh.export(file_type=kind)
        content = told.encode() if isinstance(told, str) else told
        assert len(packed({"x": content})["x"]["xz_base64"]) < 150_000


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"sha256": "0" * 64}, "is not the one that was solved"),
        ({"xz_base64": "AAAA"}, "can't be read"),
        ({"xz_base64": "ä"}, "can't be read"),
        ({"xz_base64": None}, "can't be read"),
    ],
)
def test_a_file_that_is_not_what_was_carried_is_refused(change, told) -> None:
    good = packed({"x.dxf": b"one"})
    with pytest.raises(ValueError, match=told):
        unpacked({"x.dxf": good["x.dxf"] | change})


@pytest.mark.parametrize("told", [[1], "x", {"x": 3}, {"x": None}, {"x": {}}, 7])
def test_files_that_are_no_table_are_refused(told) -> None:
    with pytest.raises(ValueError, match=r"not a table|can't be read"):
        unpacked(told)


def test_a_new_scenario_must_find_the_same_files(folder) -> None:
    files = read(folder).files
    check_there(files, folder / "new.toml", "hazel.toml")
    with pytest.raises(
        InputError, match=r"not found from that folder; write it beside hazel\.toml"
    ):
        check_there(files, folder.parent / "new.toml", "hazel.toml")
    (folder.parent / "block.dxf").write_bytes(b"another")
    with pytest.raises(InputError, match="another file has that name there"):
        check_there(files, folder.parent / "new.toml", "hazel.toml")


# The grammar


@pytest.mark.parametrize(
    ("outline", "sound"),
    [
        ("block.dxf", True),
        ({"file": "block.dxf"}, True),
        ({"file": "block.dxf", "layer": "BLOCK", "unit": "mm"}, True),
        ([[0, 0], ["wide", 0, 0.5], [0, 1]], True),
        ({"layer": "BLOCK"}, False),
        ({"file": "block.dxf", "unit": "ft"}, False),
        ({"file": "block.dxf", "colour": 3}, False),
        (3, False),
    ],
)
@pytest.mark.parametrize("kind", ["revolved", "extruded"])
def test_the_schema_has_an_outline_in_each_form(outline, sound, kind) -> None:
    content = tomllib.loads(TEXT.replace("OUTLINE", "[]"))
    shape = {"kind": kind, "outline": outline} | ({"height": 5} if kind == "extruded" else {})
    content["parts"][1]["shape"] = shape
    assert Draft202012Validator(scenario_schema()).is_valid(content) == sound
