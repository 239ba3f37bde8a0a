"""Files that attack: each ends in one clear error, and nothing in it steers a terminal."""

from __future__ import annotations

import base64
import csv
import hashlib
import io
import json
import lzma
import os
import re
import zipfile
import zlib
from pathlib import Path
from xml.parsers import expat

import openpyxl
import pytest

from optimizer.cli.new import text
from optimizer.terminal.frame import DONE, INPUT
from shared.errors import TOLD
from shared.letters import safe

pytestmark = pytest.mark.usefixtures("remembered")

ALDER = text("alder")
STEER = "\x1b[31m\x9b2J\u202e\x07"
STEERING = r"\u001b[31m\u009b2J\u202e\u0007"


@pytest.fixture
def refused(samespin, folder):
    """A function that runs a command and returns its one error, once that is shown to be clear."""

    def call(*line: str, lines: int = 1) -> str:
        ran = samespin(*line)
        assert ran.code == INPUT, ran
        assert ran.out == ""
        told = ran.err.splitlines()
        assert len(told) <= lines
        assert all(safe(line) == line and len(line) < 1500 for line in told)
        return told[0]

    return call


@pytest.fixture
def solved(samespin, folder) -> str:
    assert samespin("solve", "alder.toml", "-o", "alder.json").code == DONE
    return "alder.json"


# What never ends, and what is too large


@pytest.mark.parametrize("name", ["pipe", "zero"])
def test_a_pipe_or_a_device_is_no_file_of_any_kind(name, refused, solved, folder) -> None:
    for suffix in ("toml", "json", "html", "csv", "xlsx"):
        path = folder / f"{name}.{suffix}"
        if name == "pipe":
            os.mkfifo(path)
        else:
            path.symlink_to("/dev/zero")
    for line in (
        ("check", f"{name}.toml"),
        ("solve", f"{name}.toml"),
        ("schedule", f"{name}.json"),
        ("schedule", f"{name}.html"),
        ("compare", f"{name}.json", solved),
        ("schedule", solved, "--verify", f"{name}.csv"),
        ("schedule", solved, "--verify", f"{name}.xlsx"),
        ("reconcile", solved, f"{name}.csv"),
        ("reconcile", solved, f"{name}.xlsx"),
    ):
        assert refused(*line).endswith(": is not an ordinary file; name one that is")


def test_what_is_too_large_is_not_read(refused, solved, folder) -> None:
    """Holes on the disk, which would be as large in memory."""
    for suffix, line, most in (
        ("toml", ("check", "big.toml"), "1 MB"),
        ("json", ("schedule", "big.json"), "50 MB"),
        ("html", ("schedule", "big.html"), "50 MB"),
        ("csv", ("reconcile", solved, "big.csv"), "5 MB"),
        ("xlsx", ("schedule", solved, "--verify", "big.xlsx"), "5 MB"),
    ):
        with (folder / f"big.{suffix}").open("wb") as stream:
            stream.truncate(10**12)
        assert refused(*line) == f"big.{suffix}: is larger than {most}; name a smaller one"


def test_a_table_of_candidates_is_no_pipe(samespin, folder) -> None:
    os.mkfifo(folder / "pipe.csv")
    ran = samespin("explore", "alder.toml", "-o", "pipe.csv", "--samples", "1")
    assert (ran.code, ran.out) == (INPUT, "")


# Texts


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            '"cg"',
            f'"{"q" * 100_000}"',
            f'target about: is too long ("{"q" * 99}… (100002 letters))',
        ),
        ("[units]", f"{'k' * 100_000} = 1\n[units]", "is a key of more than 500 letters"),
        ("[units]", "a" + ".a" * 300_000 + " = 1\n[units]", "is nested too deeply"),
        ("[units]", f"[{', '.join('a.b.c' for _ in range(3))}]\n[units]", "is not TOML"),
        ("[units]", f"x = {'[' * 300_000}\n[units]", "is nested too deeply"),
        (
            "[units]",
            f"x = [{'[],' * 100_000}]\n[units]",
            "x has 100000 of 100114 values; a scenario has at most 20000",
        ),
        ("[units]", f'"{STEERING}" = 1\n[units]', "�[31m�2J�� is not a key here (1)"),
        ('"cg"', f'"{STEERING}"', "target about: is not one of the choices"),
    ],
    ids=range(8),
)
def test_a_text_that_attacks_is_refused_in_one_line(old, new, told, refused, folder) -> None:
    (folder / "x.toml").write_text(ALDER.replace(old, new, 1), encoding="utf-8")
    assert told in refused("check", "x.toml")


def test_many_errors_are_told_up_to_a_number(samespin, refused, folder) -> None:
    """506 wrong vertices; in JSON, too, with how many more there are."""
    block = '[[parts]]\nname = "x"\ninside = "cover"\nmaterial = "any"\n'
    block += f'shape = {{ kind = "revolved", outline = [{", ".join(["0"] * 506)}] }}\n'
    (folder / "x.toml").write_text((folder / "birch.toml").read_text() + block)
    assert "outline [1]: is not a list (0)" in refused("check", "x.toml", lines=TOLD + 1)
    assert samespin("check", "x.toml").err.splitlines()[TOLD] == f"and {506 - TOLD} more"
    told = json.loads(samespin("check", "x.toml", "--json").out)
    assert (len(told["errors"]), told["more"]) == (TOLD, 506 - TOLD)


def test_more_weights_or_parts_than_any_line_has_are_refused(refused, folder) -> None:
    weights = "".join(f"w{k} = 15\n" for k in range(1000))
    birch = (folder / "birch.toml").read_text()
    (folder / "x.toml").write_text(birch.replace("[weights]\n", f"[weights]\n{weights}"))
    assert "weights has 1001 entries; at most 1000" in refused("check", "x.toml")
    (folder / "x.toml").write_text(birch + '[[parts]]\nname = "x"\n' * 99)
    assert "parts has 101 entries; at most 100" in refused("check", "x.toml", lines=TOLD + 1)


def test_nothing_steers_a_terminal_or_a_spreadsheet_or_a_page(samespin, folder) -> None:
    """A line whose names do: the same names come back from JSON, shown as � everywhere else."""
    named = ALDER.replace('"alder"', f'"＝{STEERING}<script>alert(1)</script>"').replace(
        '"keel"', f'"=cmd{STEERING}\'"'
    )
    assert named.count(STEERING) >= 2
    (folder / "x.toml").write_text(named, encoding="utf-8")
    ran = samespin("solve", "x.toml", "-o", "x.json")
    assert ran.code == DONE
    shown = [ran.out, ran.err]
    for line in (("schedule", "x.json"), ("check", "x.toml"), ("tolerance", "x.toml", "--json")):
        shown += [(ran := samespin(*line)).out, ran.err]
    for name in ("s.csv", "s.html", "r.html", "s.xlsx", "s.dxf"):
        command = "report" if name == "r.html" else "schedule"
        assert samespin(command, "x.json", "-o", name).code == DONE
    files = {name: (folder / name).read_bytes() for name in ("x.json", "s.csv", "s.html", "r.html")}
    shown += [content.decode() for content in files.values()]
    assert samespin("tolerance", "x.toml", "--pictures", "p").code == DONE
    drawn = [folder / "s.dxf", *(folder / "p").glob("*.svg")]
    assert len(drawn) > 1
    shown += [path.read_text(encoding="utf-8") for path in drawn]
    for shown_text in shown:
        assert all(c in "\r\n" or safe(c) == c for c in shown_text)
    assert json.loads(files["x.json"])["scenario"]["name"] == f"＝{STEER}<script>alert(1)</script>"
    for name in ("s.html", "r.html"):
        assert b"<script>alert" not in files[name]
    for path in drawn[1:]:
        expat.ParserCreate().Parse(path.read_bytes(), True)
    for row in csv.reader(io.StringIO(files["s.csv"].decode(), newline="")):
        assert all(re.match(r"[^=+@＝-]|[+-]?[\d.]+\Z|\Z", cell) for cell in row)
    cells = [
        cell.value
        for sheet in openpyxl.load_workbook(folder / "s.xlsx").worksheets
        for row in sheet.iter_rows()
        for cell in row
    ]
    assert all(safe(str(cell)) == str(cell) for cell in cells)
    assert samespin("schedule", "x.json", "--verify", "s.csv").code == DONE
    assert samespin("schedule", "x.json", "--verify", "s.xlsx").code == DONE


# Solutions


def with_files(folder: Path, **files: object) -> None:
    saved = json.loads((folder / "alder.json").read_bytes())
    saved["scenario"]["files"] = files
    (folder / "x.json").write_text(json.dumps(saved), encoding="utf-8")


def packed(content: bytes, digest: str | None = None, **options) -> dict[str, str]:
    coded = base64.b64encode(lzma.compress(content, **options)).decode()
    return {"sha256": digest or hashlib.sha256(content).hexdigest(), "xz_base64": coded}


def test_files_that_a_solution_carries_expand_to_no_more_than_files_may_have(
    refused, solved, folder
) -> None:
    """Two of 60 MB of zeros, in 9 kB each, though no part names them; a dictionary of 1 GB."""
    zeros = packed(bytes(60_000_000), preset=0)
    with_files(folder, a=zeros, b=zeros)
    assert 'the content of its file "b" can\'t be read' in refused("schedule", "x.json")
    filters = [{"id": lzma.FILTER_LZMA2, "preset": 0, "dict_size": 1 << 20}]
    stream = bytearray(lzma.compress(b"x" * 1000, filters=filters, check=lzma.CHECK_NONE))
    block = slice(12, 12 + 4 * (stream[12] + 1))  # .xz format 3.1: its size, … and its CRC32
    assert stream[16] == 16  # 5.3.1: a dictionary of 2 ** (16 / 2 + 12) bytes
    stream[16] = 36  # 1 GiB
    stream[block.stop - 4 : block.stop] = zlib.crc32(stream[block][:-4]).to_bytes(4, "little")
    coded = base64.b64encode(bytes(stream)).decode()
    with_files(folder, a={"sha256": hashlib.sha256(b"x" * 1000).hexdigest(), "xz_base64": coded})
    assert 'the content of its file "a" can\'t be read' in refused("schedule", "x.json")


def test_a_solution_of_many_values_or_pages_without_an_end_are_refused(refused, folder) -> None:
    (folder / "x.json").write_text("[" + "[]," * 600_000 + "[]]")
    assert "holds more than 500000 values" in refused("schedule", "x.json")
    (folder / "x.json").write_text("[" * 100_000)
    assert "is not JSON" in refused("schedule", "x.json")
    opened = '<script type="application/json" id="samespin-solution">'
    (folder / "x.html").write_text(opened * 100_000)
    assert "carries no solution that can be read" in refused("schedule", "x.html")


def test_halves_of_pairs_in_a_solution_are_told(refused, solved, folder) -> None:
    """JSON may hold what no file can: a lone surrogate, here in a name and a status."""
    saved = (folder / "alder.json").read_text(encoding="utf-8")
    (folder / "x.json").write_text(saved.replace("alder", r"\ud800"), encoding="utf-8")
    assert refused("schedule", "x.json")
    (folder / "x.json").write_text(saved.replace('"feasible"', r'"\ud800\u001b"'), encoding="utf-8")
    assert refused("schedule", "x.json")


# Sheets

PAGE = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>{}</worksheet>'
ROW = '<row r="1"><c r="A1"><v>1</v></c></row>'


def workbook(path: Path, sheet: str, **others: str) -> None:
    """A workbook whose sheet is written by hand."""
    out = io.BytesIO()
    book = openpyxl.Workbook()
    book.active["A1"] = "x"
    book.save(out)
    with zipfile.ZipFile(out) as made, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in made.namelist():
            page = name == "xl/worksheets/sheet1.xml"
            archive.writestr(name, PAGE.format(sheet) if page else made.read(name))
        for name, held in others.items():
            archive.writestr(name, held)


@pytest.mark.parametrize(
    ("sheet", "told"),
    [
        (f'{ROW}<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>', "cells"),
        (f'{ROW}</sheetData><mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>', ""),
        (f"{'<row/>' * 100_001}</sheetData>", "cells"),
        (f"<row>{'<c/>' * 400_001}</row></sheetData>", "cells"),
        (f'<row r="1"><c t="str"><v>{"x" * 5_000_001}</v></c></row></sheetData>', "letters"),
        (" " * 50_000_001, "expands to more than 50 MB"),
        ("<row>", "can't be read as a workbook"),
    ],
    ids=range(7),
)
def test_a_workbook_that_attacks_is_refused(sheet, told, refused, solved, folder) -> None:
    workbook(folder / "x.xlsx", sheet)
    assert told in refused("schedule", solved, "--verify", "x.xlsx")
    assert told in refused("reconcile", solved, "x.xlsx")


@pytest.mark.parametrize(
    "rows", ["," * 4_000_000, "\n" * 4_000_000, "1,15,weight,,15.1,lb\n" * 20_000]
)
def test_a_csv_file_of_many_cells_is_refused(rows, refused, solved, folder) -> None:
    (folder / "x.csv").write_text("ball,label,measurement,of,value,unit\n" + rows)
    for line in (("schedule", solved, "--verify", "x.csv"), ("reconcile", solved, "x.csv")):
        assert "has more than 100000 cells" in refused(*line)


def test_wrong_rows_are_told_up_to_a_number(refused, solved, folder) -> None:
    rows = f"1,15,{STEER},,x{STEER},l{STEER}\n" * 600
    (folder / "x.csv").write_text("ball,label,measurement,of,value,unit\n" + rows, encoding="utf-8")
    assert "x.csv:2: " in refused("reconcile", solved, "x.csv", lines=TOLD + 1)


# Where files lie


def test_files_elsewhere_are_read_only_where_the_user_says_so(samespin, folder) -> None:
    """A block by its name from another folder, and by a link; then with --files-from."""
    (folder / "line").mkdir()
    (folder / "shared").mkdir()
    (folder / "shared" / "block.stl").write_text("no mesh")
    (folder / "line" / "link.stl").symlink_to("../shared/block.stl")
    for name in ("../shared/block.stl", "link.stl"):
        mesh = f'{{ kind = "mesh", unit = "mm", file = "{name}" }}'
        birch = (folder / "birch.toml").read_text()
        line = birch.replace('{ kind = "spheroid", diameter = 4.0, height = 5.0 }', mesh)
        (folder / "line" / "x.toml").write_text(line)
        ran = samespin("check", "line/x.toml")
        assert ran.code == INPUT
        assert f'file "{name}" lies outside of the scenario\'s folder' in ran.err
        for allowed in (("--files-from", "shared"), ("--files-from", "line", "--files-from", ".")):
            assert "is not an STL file" in samespin("check", "line/x.toml", *allowed).err
        assert "lies outside" in samespin("check", "line/x.toml").err
