"""`-o FILE.dxf`: where it can be had, and where not."""

from __future__ import annotations

import sys

import pytest

pytestmark = pytest.mark.usefixtures("remembered")


def test_solve_and_schedule_write_the_same_mould(samespin, folder):
    assert samespin("solve", "alder.toml", "-o", "alder.json").code == 0
    assert samespin("solve", "alder.toml", "-o", "solved.dxf").code == 0
    assert samespin("schedule", "alder.json", "-o", "saved.dxf").code == 0
    assert (folder / "solved.dxf").read_bytes() == (folder / "saved.dxf").read_bytes()


def test_a_drawing_is_not_written_for_a_line_up_that_is_not_there(samespin, folder):
    ran = samespin("solve", "cedar.toml", "-o", "cedar.dxf")
    assert ran.code == 4
    assert "INFEASIBLE" in ran.out
    assert "cedar.dxf is not written" in ran.err
    assert not (folder / "cedar.dxf").exists()


@pytest.mark.parametrize(
    "command",
    [("window", "alder.toml"), ("sharing", "alder.toml"), ("solve", "alder.toml", "--trade", "rg")],
)
def test_a_command_without_moulds_refuses_it_before_any_work(samespin, folder, command):
    ran = samespin(*command, "-o", "x.dxf")
    assert ran.code == 2
    assert ".json or .csv or .html or .xlsx" in " ".join(ran.err.split())
    assert ".dxf" not in ran.err.partition("must be")[2]
    assert not (folder / "x.dxf").exists()


def test_without_ezdxf_it_is_said_before_any_work(samespin, folder, monkeypatch):
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    ran = samespin("solve", "alder.toml", "-o", "x.dxf")
    assert (ran.code, ran.out) == (3, "")
    assert 'pip install "samespin[cad]"' in ran.err
    assert not (folder / "x.dxf").exists()
