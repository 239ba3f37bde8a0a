"""What `solve` says when it can't be done, and what --apply writes."""

from __future__ import annotations

import json

import pytest

from optimizer.terminal.frame import DONE, INFEASIBLE, INPUT, USAGE

pytestmark = pytest.mark.usefixtures("remembered")


@pytest.fixture
def hazel(samespin, folder):
    """A scenario that `new` wrote, with more differential than it can give."""
    samespin("new", "hazel")
    path = folder / "hazel.toml"
    text = path.read_text(encoding="utf-8")
    assert "differential = 0.042" in text
    path.write_text(text.replace("differential = 0.042", "differential = 0.050"), encoding="utf-8")
    return path


def test_the_diagnosis_names_lines_and_changes(samespin, hazel):
    ran = samespin("solve", "hazel.toml")
    assert ran.code == INFEASIBLE
    assert "These can't hold together, in 16 lb and 15 lb" in ran.out
    line = 1 + hazel.read_text().splitlines().index(
        next(row for row in hazel.read_text().splitlines() if row.startswith("differential"))
    )
    assert f"- differential 0.050 ± 0.001 in (line {line})" in ran.out
    assert "- 1. differential 0.05 → " in ran.out
    assert "On their own, 14 lb and 13 lb can be made; 16 lb and 15 lb can't." in ran.out
    assert "--apply 1 -o NEW.toml" in ran.out + ran.err


def test_the_diagnosis_as_json(samespin, hazel):
    ran = samespin("solve", "hazel.toml", "--json")
    found = json.loads(ran.out)["infeasible"]
    assert {member["limit"] for member in found["conflict"]} >= {"low RG", "differential"}
    assert all(member["line"] for member in found["conflict"])
    assert found["conflict_is_minimal"] == [True, True]
    moved = {(r["limit"], r["about"]): r["to"] for r in found["remedies"]}
    assert moved["differential", None] < 0.05
    assert moved["low RG", None] is None
    assert found["alone"] == {"16": False, "15": False, "14": True, "13": True}


def test_a_change_that_is_applied_gives_a_feasible_scenario(samespin, hazel, folder):
    ran = samespin("solve", "hazel.toml", "--apply", "1", "-o", "mended.toml")
    assert ran.code == DONE
    assert samespin("solve", "mended.toml").code == DONE
    was, now = (p.read_text().splitlines() for p in (hazel, folder / "mended.toml"))
    assert len([1 for a, b in zip(was, now, strict=True) if a != b]) == 1


def test_a_change_that_is_not_there_is_refused(samespin, hazel, folder):
    ran = samespin("solve", "hazel.toml", "--apply", "9", "-o", "mended.toml")
    assert ran.code == INPUT
    assert "there is no change 9 to make; there are 2" in ran.err
    assert not (folder / "mended.toml").exists()
    assert samespin("solve", "hazel.toml", "--apply", "1").code == USAGE
    assert samespin("solve", "hazel.toml", "--apply", "1", "-o", "mended.json").code == USAGE
