"""What-ifs: --set, --case and --vary, on every command that reads a scenario."""

from __future__ import annotations

import csv
import json
import re

import pytest
from optimizer_texts import shipped

from optimizer.cli.app import COMMANDS
from optimizer.terminal.frame import DONE, INFEASIBLE, INPUT, USAGE

pytestmark = pytest.mark.usefixtures("remembered")

NARROWER = "materials.filled.density=[1.0, 2.88]"
TOLD = "with materials.filled.density = [1.0, 2.88]"
READ = {
    "check": ("laurel.toml",),
    "solve": ("laurel.toml",),
    "window": ("laurel.toml",),
    "sharing": ("laurel.toml",),
    "explore": ("laurel.toml", "--samples", "1", "-o", "t.csv"),
    "parts": ("laurel.toml",),
    "grow": ("laurel.toml", "--for", "5s"),
    "schedule": ("laurel.toml",),
    "tolerance": ("laurel.toml",),
    "reconcile": ("laurel.toml", "--template", "-o", "t.csv"),
    "compare": ("laurel.toml", "alder.toml"),
    "report": ("laurel.toml",),
    "proof": ("proof.json", "--scenario", "laurel.toml"),
}
"""A line for each command that reads a scenario; the others read none."""


@pytest.fixture
def laurel(folder):
    path = folder / "laurel.toml"
    path.write_text(shipped("laurel"), encoding="utf-8")
    return path


def test_the_table_names_every_command_but_those_that_read_nothing():
    assert READ.keys() | {"new", "schema"} == {command.__name__ for command in COMMANDS}


@pytest.mark.parametrize("command", READ)
def test_every_command_that_reads_a_scenario_takes_a_set(command, samespin, laurel):
    """It reaches the reading: an unknown name is refused in the same words everywhere."""
    if command == "proof":
        assert samespin("solve", "laurel.toml", "--proof", "proof.json").code == DONE
    before = sorted(laurel.parent.iterdir())
    ran = samespin(command, *READ[command], "--set", "materials.fillet.density=1.3")
    told = (
        '--set materials.fillet.density=1.3: there is no material "fillet"; did you mean "filled"?'
    )
    assert (ran.code, ran.err.splitlines()) == (INPUT, [told])
    assert sorted(laurel.parent.iterdir()) == before
    ran = samespin(command, *READ[command], "--case", "lang")
    told = '--case lang: there is no such case; did you mean "long"?'
    assert (ran.code, ran.err.splitlines()) == (INPUT, [told])


@pytest.mark.parametrize(
    "command", ["check", "solve", "window", "sharing", "schedule", "tolerance", "parts"]
)
def test_a_title_tells_what_was_set(command, samespin, laurel):
    ran = samespin(command, *READ[command], "--set", NARROWER)
    assert ran.code == DONE, ran.err
    assert f"Laurel, revision A, {TOLD}" in ran.out.splitlines()[0]
    own = json.loads(samespin(command, *READ[command], "--set", NARROWER, "--json").out)["scenario"]
    assert own["what_if"] == {"case": None, "set": [TOLD.removeprefix("with ")]}


def test_a_set_is_the_same_edit_by_hand(samespin, laurel):
    """The same balls, to the last digit; another SHA-256 than the file as it stands."""
    ran = json.loads(samespin("solve", "laurel.toml", "--set", NARROWER, "--json").out)
    text = laurel.read_text(encoding="utf-8")
    assert text.count("density   = [1.00, 2.90]") == 1
    edited = text.replace("density   = [1.00, 2.90]", "density = [1.0, 2.88]")
    (laurel.parent / "by-hand.toml").write_text(edited, encoding="utf-8")
    by_hand = json.loads(samespin("solve", "by-hand.toml", "--json").out)
    as_it_stands = json.loads(samespin("solve", "laurel.toml", "--json").out)
    for key in ("status", "target", "weights", "smallest_margin"):
        assert ran[key] == by_hand[key]
    assert ran["weights"] != as_it_stands["weights"]
    assert ran["scenario"]["sha256"] != as_it_stands["scenario"]["sha256"]


def test_a_solution_carries_what_was_set(samespin, laurel):
    """Schedule and sheet tell it without the option, and a sheet that went out agrees."""
    asked = ("--case", "long", "--set", NARROWER)
    ran = samespin("solve", "laurel.toml", *asked, "-o", "long.json")
    assert ran.code == DONE
    assert "Next: samespin schedule long.json" in ran.out
    told = f"Laurel, revision A, case long, {TOLD}"
    ran = samespin("schedule", "long.json")
    assert ran.out.startswith(f"Density schedule: {told}\n")
    assert re.search(rf"(?m)^variant +case long, {re.escape(TOLD)}$", ran.out)
    assert samespin("schedule", "long.json", "-o", "long.csv").code == DONE
    rows = csv.reader((laurel.parent / "long.csv").read_text(encoding="utf-8").splitlines())
    assert any(f"case long, {TOLD}" in cell for row in rows for cell in row)
    assert samespin("schedule", "long.json", "--verify", "long.csv").code == DONE
    assert samespin("schedule", "laurel.toml", *asked, "--verify", "long.csv").code == DONE
    assert samespin("schedule", "laurel.toml", "--verify", "long.csv").code == INPUT
    assert samespin("report", "long.json", "-o", "long.html").code == DONE
    assert told in (laurel.parent / "long.html").read_text(encoding="utf-8")


def test_a_solution_whose_scenario_is_changed_is_solved_anew(samespin, laurel):
    assert samespin("solve", "laurel.toml", "-o", "laurel.json").code == DONE
    ran = samespin("schedule", "laurel.json", "--set", NARROWER)
    assert ran.err == "laurel.json: solved anew, since its scenario is changed\n"
    assert ran.out == samespin("schedule", "laurel.toml", "--set", NARROWER).out
    assert samespin("solve", "laurel.toml", "--case", "long", "-o", "long.json").code == DONE
    ran = samespin("schedule", "long.json", "--case", "short")
    assert ran.code == INPUT
    assert "was changed already, as its [what_if] says; name the scenario's own file" in ran.err


def test_a_proof_knows_what_was_set(samespin, laurel):
    """Its numbers are those of the scenario changed so, and of no other."""
    asked = ("--case", "long", "--set", NARROWER)
    assert samespin("solve", "laurel.toml", *asked, "--proof", "p.json").code == DONE
    for more in ((), ("--scenario", "laurel.toml"), asked):
        ran = samespin("proof", "p.json", *more)
        assert ran.code == DONE, ran.out
        assert ran.out.startswith(f"Laurel, case long, {TOLD}: ")
    ran = samespin("proof", "p.json", "--case", "short")
    assert ran.code == INFEASIBLE
    assert "is not the scenario that it was made of" in ran.out


def test_the_next_line_keeps_what_was_asked(samespin, laurel):
    ran = samespin("check", "laurel.toml", "--case", "long", "--set", NARROWER)
    asked = f"--case long --set '{NARROWER}'"
    assert ran.out.splitlines()[-1] == f"Next: samespin solve laurel.toml {asked}"
    ran = samespin("solve", "laurel.toml", "--case", "long", "--set", NARROWER)
    assert ran.out.splitlines()[-1] == f"Next: samespin schedule laurel.toml {asked}"


def test_a_family_is_compared_case_by_case(samespin, laurel):
    asked = ("--case", "short", "--case", "long")
    ran = samespin("compare", "laurel.toml", *asked)
    assert ran.code == DONE
    assert "- long: Laurel, revision A, case long (laurel.toml); 3 weights, FEASIBLE" in ran.out
    every = json.loads(samespin("compare", "laurel.toml", *asked, "--json").out)["candidates"]
    assert [each["name"] for each in every] == ["short", "long"]
    for case, column in zip(("short", "long"), every, strict=True):
        alone = json.loads(samespin("solve", "laurel.toml", "--case", case, "--json").out)
        assert alone["smallest_margin"] == column["smallest_margin"]
        for own, shown in zip(alone["weights"], column["weights"], strict=True):
            assert own["densities_g_cm3"] == shown["densities_g_cm3"]
    one = json.loads(samespin("compare", "laurel.toml", "--case", "long", "--json").out)
    assert [each["name"] for each in one["candidates"]] == ["as-written", "long"]


def test_values_are_varied_in_columns(samespin, laurel):
    """The first column is the file; each other one as its --vary says, with its densities."""
    varied = ("--vary", "target.rg=2.548", "--vary", "target.rg=2.552")
    ran = samespin("compare", "laurel.toml", *varied)
    assert ran.code == DONE
    assert re.search(r"(?m)^ +as-written +rg = 2.548 +rg = 2.552$", ran.out)
    shown = [row.split()[2:] for row in ran.out.splitlines() if row.startswith("  16 lb")]
    assert ["2.550", "2.548", "2.552"] in shown
    alone = json.loads(samespin("solve", "laurel.toml", "--set", "target.rg=2.552", "--json").out)
    (keel,) = re.findall(r"Density of keel, g/cm³\n((?:  .*\n)+)", ran.out)
    assert [row.split()[-1] for row in keel.splitlines()] == [
        f"{weight['densities_g_cm3']['keel']:.4f}" for weight in alone["weights"]
    ]
    ran = samespin("compare", "laurel.toml", "--vary", "weights.17=x")
    assert ran.code == INPUT
    assert ran.err.startswith('--set weights.17=x: weight "17"')
    assert samespin("compare", "laurel.toml").code == USAGE


def test_check_reads_every_case(samespin, laurel):
    """What is wrong in one is told at its line, with the case's name."""
    text = laurel.read_text(encoding="utf-8")
    laurel.write_text(
        text.replace("parts.keel.shape.height = 4.30", "parts.keel.shape.height = 7.30").replace(
            "materials.dense.density = [1.60, 3.75]", "materials.dens.density = [1.60, 3.75]"
        ),
        encoding="utf-8",
    )
    ran = samespin("check", "laurel.toml")
    assert ran.code == INPUT
    first, second = ran.err.splitlines()
    rows = laurel.read_text(encoding="utf-8").splitlines()
    keel = 1 + rows.index("parts.keel.shape.height = 7.30")
    dense = 1 + rows.index("materials.dens.density = [1.60, 3.75]")
    assert first.startswith(
        f'laurel.toml:{keel}:1: case short: part "keel" sticks out of "spindle"'
    )
    told = 'case long: there is no material "dens"; did you mean "dense"?'
    assert second == f"laurel.toml:{dense}:1: {told}"
    assert samespin("solve", "laurel.toml").code == DONE


def test_a_change_that_is_applied_is_made_to_the_case(samespin, laurel):
    """NEW.toml is the changed text with change 1, and says so."""
    asked = ("--set", "target.differential=0.060", "--apply", "1", "-o", "new.toml")
    assert samespin("solve", "laurel.toml", *asked).code == DONE
    ran = samespin("solve", "new.toml")
    assert ran.code == DONE, ran.out
    assert ran.out.startswith("Laurel, revision A, with target.differential = 0.0")
