"""A line whose block is drawn in a DXF file: saved, and read where the file is not."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from drawings import drawing
from optimizer_texts import shipped

from optimizer.cli.app import run
from optimizer.scenario.source.attachments import unpacked
from optimizer.terminal.frame import DONE, INPUT

pytestmark = pytest.mark.usefixtures("remembered")

ROOT = Path(__file__).parents[3]
ROWAN = shipped("rowan")
SHAPE = ROWAN[ROWAN.index('{ kind = "revolved"') : ROWAN.index("] }\n\n[[parts]]") + 3]
OUTLINE = tomllib.loads(f"shape = {SHAPE}")["shape"]["outline"]
NAME = "drawings/Block für Rowan.dxf"
DRAWN = ROWAN.replace(
    SHAPE, f'{{ kind = "revolved", outline = {{ file = "{NAME}", layer = "BLOCK" }} }}'
)


def dxf(outline=OUTLINE) -> bytes:
    """The outline as one open polyline, in inches."""
    points = [(r, z, bulge[0] if bulge else 0.0) for r, z, *bulge in outline]
    return drawing(
        lambda space: space.add_lwpolyline(points, "xyb", dxfattribs={"layer": "BLOCK"}), units=1
    )


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> dict[str, bytes]:
    """The line's files, solved and reported once."""
    folder = tmp_path_factory.mktemp("made")
    (folder / "drawings").mkdir()
    (folder / NAME).write_bytes(dxf())
    (folder / "rowan.toml").write_text(DRAWN, encoding="utf-8")
    with pytest.MonkeyPatch.context() as here:
        here.chdir(folder)
        assert run(("solve", "rowan.toml", "-o", "rowan.json")) == DONE
        assert run(("report", "rowan.json", "-o", "rowan.html")) == DONE
    names = ("rowan.toml", "rowan.json", "rowan.html", NAME)
    return {name: (folder / name).read_bytes() for name in names}


@pytest.fixture
def saved(folder, made) -> Path:
    """A folder with the line, its solution and its page, but without the drawing."""
    (folder / "drawings").mkdir()
    for name, content in made.items():
        if name != NAME:
            (folder / name).write_bytes(content)
    return folder


def test_a_solved_line_is_read_again_without_its_drawing(samespin, saved, made) -> None:
    """From the solution or its page: the same figures, schedule and page, and the file's bytes."""
    first, page = (samespin("schedule", f"rowan.{kind}", "--json") for kind in ("json", "html"))
    assert (first.code, page.code) == (DONE, DONE)
    assert first.out == page.out
    told = json.loads((saved / "rowan.json").read_text(encoding="utf-8"))["scenario"]
    again = json.loads(first.out)["scenario"]
    assert again["files"] == told["files"]
    assert again["sha256"] == told["sha256"]
    assert unpacked(told["files"]) == {NAME: made[NAME]}
    assert samespin("report", "rowan.html", "-o", "again.html").code == DONE
    assert (saved / "again.html").read_bytes() == (saved / "rowan.html").read_bytes()
    text = (saved / "rowan.html").read_text(encoding="utf-8")
    assert len(text.encode()) < 375_000
    assert "file that the scenario names" in text
    assert told["files"][NAME]["sha256"] in text
    ran = samespin("check", "rowan.toml")
    assert ran.code == INPUT
    assert f'outline: file "{NAME}" does not exist' in ran.err


def test_a_drawn_outline_gives_the_line_up_of_the_written_one(samespin, saved) -> None:
    (saved / "plain.toml").write_text(ROWAN, encoding="utf-8")
    assert samespin("solve", "plain.toml", "-o", "plain.json").code == DONE
    one, other = (json.loads((saved / f"{n}.json").read_bytes()) for n in ("plain", "rowan"))
    assert one["weights"] == other["weights"]
    assert one["scenario"]["sha256"] != other["scenario"]["sha256"]
    ran = samespin("compare", "plain.json", "rowan.json")
    assert f"Content of file {NAME}: only here" in ran.out


@pytest.mark.parametrize("source", ["rowan.toml", "rowan.json"])
def test_the_drawing_that_is_read_is_never_written_over(source, samespin, saved, made) -> None:
    (saved / NAME).write_bytes(made[NAME])
    command = "solve" if source.endswith("toml") else "schedule"
    ran = samespin(command, source, "-o", NAME, "--force")
    assert ran.code == INPUT
    assert "is the file that this command reads" in ran.err
    assert (saved / NAME).read_bytes() == made[NAME]


def test_a_drawing_that_changed_is_told(samespin, saved) -> None:
    """The foot 0.05 in longer under the same name: a saved line keeps its own; it is told."""
    longer = [[0.0, -2.95, 0.2], *OUTLINE[1:]]
    (saved / NAME).write_bytes(dxf(longer))
    told = json.loads((saved / "rowan.json").read_bytes())["weights"]
    assert json.loads(samespin("schedule", "rowan.json", "--json").out)["scenario"]["files"]
    assert samespin("solve", "rowan.toml", "-o", "new.json").code == DONE
    assert json.loads((saved / "new.json").read_bytes())["weights"] != told
    ran = samespin("compare", "rowan.json", "new.json")
    assert f"Content of file {NAME}: SHA-256 " in ran.out
    assert "Part block, outline" in ran.out


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda files: files[NAME].update(sha256="0" * 64), "is not the one that was solved"),
        (lambda files: files[NAME].update(xz_base64="AAAA"), "can't be read"),
        (lambda files: files.clear(), "is not included with this text"),
        (lambda files: files.update(other=files[NAME]), "scenario.files.other does not follow"),
    ],
)
def test_a_carried_drawing_that_was_changed_is_refused(samespin, saved, change, told) -> None:
    data = json.loads((saved / "rowan.json").read_bytes())
    change(data["scenario"]["files"])
    (saved / "rowan.json").write_text(json.dumps(data), encoding="utf-8")
    ran = samespin("schedule", "rowan.json")
    assert ran.code == INPUT
    assert told in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize(
    "command", [("solve", "rowan.toml", "--apply", "1"), ("sharing", "rowan.toml", "--pours", "9")]
)
def test_a_new_scenario_elsewhere_must_find_the_drawing(samespin, saved, command) -> None:
    """It is said before any work is done; beside the old one it is found."""
    (saved / NAME).write_bytes(dxf())
    (saved / "new").mkdir()
    ran = samespin(*command, "-o", "new/rowan.toml")
    assert ran.code == INPUT
    told = f'new/rowan.toml: names "{NAME}", which is not found from that folder'
    assert told in ran.err
    assert not list((saved / "new").iterdir())


def test_json_errors_name_file_and_line(samespin, saved) -> None:
    (error,) = json.loads(samespin("solve", "rowan.toml", "--json").out)["errors"]
    line = 1 + DRAWN[: DRAWN.index("outline = { file")].count("\n")
    assert (error["file"], error["line"]) == ("rowan.toml", line)
