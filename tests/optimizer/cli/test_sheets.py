"""Sheets as a person has them: written, typed into, compared."""

from __future__ import annotations

import csv
import json
import sys

import pytest

pytestmark = pytest.mark.usefixtures("remembered")

MARK = b"\xef\xbb\xbf"


@pytest.fixture
def saved(samespin):
    """A line-up that is solved already."""
    assert samespin("solve", "alder.toml", "-o", "alder.json").code == 0


@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_a_sheet_agrees_until_a_figure_in_it_is_changed(samespin, folder, saved, suffix):
    name = f"pour.{suffix}"
    assert samespin("schedule", "alder.json", "-o", name).code == 0
    ran = samespin("schedule", "alder.json", "--verify", name)
    assert (ran.code, ran.err) == (0, "")
    assert f"{name} agrees with the schedule of alder, revision A" in ran.out
    data = json.loads(samespin("schedule", "alder.json", "--verify", name, "--json").out)
    assert (data["format"], data["agrees"], data["sheet"]) == ("samespin/verified@1", True, name)
    assert data["differences"] == []


def test_every_changed_figure_is_told_with_its_place(samespin, folder, saved):
    assert samespin("schedule", "alder.json", "-o", "pour.csv").code == 0
    with (folder / "pour.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))
    header = next(row for row in rows if "mass, g" in row)
    pour = rows[rows.index(header) + 1]
    at = header.index("mass, g")
    was, pour[at] = pour[at], f"{float(pour[at]) + 1:.2f}"
    with (folder / "pour.csv").open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, delimiter=";").writerows(rows)
    ran = samespin("schedule", "alder.json", "--verify", "pour.csv")
    assert (ran.code, ran.err) == (3, "")
    assert f'"{pour[0]}": mass, g reads {pour[at]}, should read {was}' in ran.out
    told = samespin("schedule", "alder.json", "--verify", "pour.csv", "--json")
    assert told.code == 3
    (one,) = json.loads(told.out)["differences"]
    assert (one["row"], one["column"]) == (pour[0], "mass, g")
    assert (one["reads"], one["should"]) == (pour[at], was)


def test_a_sheet_of_another_revision_is_told_so_first(samespin, folder, saved):
    assert samespin("schedule", "alder.json", "-o", "pour.xlsx").code == 0
    text = (folder / "alder.toml").read_text("utf-8")
    assert text.count('revision = "A"') == 1
    (folder / "next.toml").write_text(text.replace('revision = "A"', 'revision = "B"'), "utf-8")
    ran = samespin("schedule", "next.toml", "--verify", "pour.xlsx")
    assert ran.code == 3
    first = next(line for line in ran.out.splitlines() if line.startswith("- "))
    assert first == '- this sheet belongs to revision "A", here it is revision "B"'


def test_a_mark_is_written_only_where_it_is_asked_for(samespin, folder, saved):
    assert samespin("schedule", "alder.json", "-o", "plain.csv").code == 0
    assert samespin("schedule", "alder.json", "-o", "marked.csv", "--excel").code == 0
    plain = (folder / "plain.csv").read_bytes()
    assert not plain.startswith(MARK)
    assert (folder / "marked.csv").read_bytes() == MARK + plain
    assert samespin("schedule", "alder.json", "--verify", "marked.csv").code == 0


@pytest.mark.parametrize(
    ("options", "code", "said"),
    [
        (("--excel",), 2, "is for -o FILE.csv"),
        (("--excel", "-o", "x.xlsx"), 2, "is for -o FILE.csv"),
        (("--verify", "x.csv", "-o", "y.csv"), 2, "leave -o out"),
        (("--verify", "none.csv"), 3, "none.csv: does not exist; check its name"),
        (("--verify", "alder.toml"), 3, "alder.toml: the suffix says no format of a sheet"),
    ],
)
def test_what_cannot_be_is_refused_before_any_work(samespin, options, code, said):
    ran = samespin("schedule", "cedar.toml", *options)
    assert (ran.code, ran.out) == (code, "")
    assert said in ran.err


def test_two_processes_write_the_same_bytes(process, folder):
    for suffix in ("html", "xlsx"):
        for name, seed in (("one", "1"), ("two", "2")):
            written = ("-o", f"{name}.{suffix}")
            ran = process("schedule", "alder.toml", *written, PYTHONHASHSEED=seed, TZ=f"UTC{seed}")
            assert ran.code == 0, ran.err
        assert (folder / f"one.{suffix}").read_bytes() == (folder / f"two.{suffix}").read_bytes()


@pytest.mark.parametrize("command", [("solve",), ("window",), ("sharing",)])
def test_other_commands_write_them_too(samespin, folder, command):
    name, *options = command
    assert samespin(name, "alder.toml", *options, "-o", "x.html").code == 0
    assert (folder / "x.html").read_text("utf-8").startswith("<!DOCTYPE html>")


def test_without_xlsxwriter_it_is_said_before_any_work(samespin, folder, monkeypatch):
    monkeypatch.setitem(sys.modules, "xlsxwriter", None)
    ran = samespin("schedule", "cedar.toml", "-o", "x.xlsx")
    assert (ran.code, ran.out) == (3, "")
    assert 'pip install "samespin[sheets]"' in ran.err
