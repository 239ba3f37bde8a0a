"""Some mutants, and all that were wrong once; and that what is wrong is seen."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from fuzz import kinds
from fuzz.judge import faults
from fuzz.trial import Case, Outcome

ROOT = Path(__file__).parents[2]
ENVIRONMENT = {"PYTHONPATH": f"{ROOT}:{ROOT / 'tests'}", "PATH": "/usr/bin:/bin"}
PLANTED = """
import sys
from fuzz import trial
import optimizer.cli
trial.CPU = 1
optimizer.cli.main = lambda: {}
outcome = trial.tried(trial.Case("planted", {{"x.toml": b""}}, ("check", "x.toml")))
print(outcome.code, outcome.killed, outcome.err.decode().strip().splitlines()[-1:], outcome.out)
"""
CASE = Case.of("mutant", {"x.toml": b"name = 1"}, ("check", "x.toml"))
FINE = Outcome(0, 0, b"in order\n", b"", CASE.files, 0.1, 10**8)


def _python(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Run Python on its own: what forks has no threads."""
    return subprocess.run(  # noqa: S603  ours
        [sys.executable, *arguments], capture_output=True, text=True, check=False, env=ENVIRONMENT
    )


def test_mutants_end_in_an_answer_or_a_clear_error() -> None:
    """All that were wrong once, and some of each kind."""
    ran = _python("-m", "fuzz", "--mutants", "50", "--jobs", "1")
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "wrong: nothing" in ran.stdout


@pytest.mark.parametrize(
    ("main", "left"),
    [
        ("[None for _ in iter(int, 1)]", "-1 24 [] b''"),  # SIGXCPU
        ("bytes(10**10)", "1 0 ['MemoryError'] b''"),
        ("print('out') or sys.exit(3)", r"3 0 [] b'out\n'"),
        ("1 / 0", "1 0 ['ZeroDivisionError: division by zero'] b''"),
    ],
)
def test_a_command_may_neither_last_nor_grow_for_ever(main: str, left: str) -> None:
    ran = _python("-c", PLANTED.format(main))
    assert ran.stdout.strip() == left, ran.stderr


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"killed": 24}, "killed"),
        ({"code": 1}, "exit 1"),
        ({"code": 130}, "exit 130"),
        ({"code": 3, "out": b""}, "silent"),
        ({"out": b""}, "silent"),
        ({"err": b"Traceback (most recent call last):\n"}, "fault"),
        ({"err": b"x.py:1: RuntimeWarning: divide by zero\n"}, "warning"),
        ({"peak": 10**9 + 1}, "memory"),
        ({"out": b"\x1b[31mred\n"}, "raw"),
        ({"err": "\u202e".encode()}, "raw"),
        ({"err": 31 * b"wrong\n"}, "flood"),
        ({"out": b"RG  nan in\n"}, "not a number"),
        ({"files": {}}, "input"),
        ({"files": CASE.files | {".1a.7.part": b""}}, "left"),
    ],
)
def test_what_is_wrong_is_seen(change: dict[str, object], word: str) -> None:
    assert list(faults(CASE, FINE)) == []
    (fault,) = faults(CASE, replace(FINE, **change))
    assert fault.startswith(f"{word}: ")


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("y.json", b'{"a": 1'),
        ("y.json", b'{"a": NaN}'),
        ("y.html", b"<html><body>"),
        ("y.html", b"<script>alert(7)</script></html>"),
        ("y.html", b'<p onclick="x()"></html>'),
        ("y.csv", b"a,b"),
        ("y.xlsx", b"PK"),
    ],
)
def test_a_file_that_is_not_whole_is_seen(name: str, content: bytes) -> None:
    case = Case.of("mutant", CASE.files, ("report", "x.toml", "-o", name))
    (fault,) = faults(case, replace(FINE, files=CASE.files | {name: content}))
    assert fault.startswith(f"broken: {name}")
    (fault,) = faults(case, FINE)
    assert fault == f"missing: {name}"


def test_one_json_object_is_asked_for() -> None:
    case = Case.of("mutant", CASE.files, ("check", "x.toml", "--json"))
    assert list(faults(case, replace(FINE, out=b'{"a": 1}\n'))) == []
    (fault,) = faults(case, FINE)
    assert fault.startswith("json: ")


def test_a_solution_that_contradicts_itself_is_seen() -> None:
    off = {"target": "rg", "tolerances": 0.5}
    margin = {"limit": "wall min", "slack": 0.1, "rule_only": False}
    weight = {"label": "15", "deviations": [off], "margins": [margin]}
    solution = {"format": "samespin/solution@1", "status": "feasible", "weights": [weight]}
    case = Case.of("mutant", CASE.files, ("solve", "x.toml", "--json"))

    def seen(code: int) -> list[str]:
        return list(faults(case, replace(FINE, out=json.dumps(solution).encode(), code=code)))

    assert seen(0) == seen(5) == []
    assert seen(4) == ["lie: feasible with exit 4"]
    off["tolerances"] = -1.1
    assert seen(0) == ["lie: feasible, and 15 is -1.1 off in rg"]
    off["tolerances"], margin["slack"] = None, -0.1
    assert seen(0) == ["lie: feasible, and 15 breaks wall min by -0.1"]


@pytest.mark.parametrize("kind", ["line", "mesh", "drawing"])
def test_a_mutant_is_the_same_again(kind: str) -> None:
    first, again = ([kinds.mutant(kind, 5, number) for number in range(8)] for _ in range(2))
    assert first == again
    assert len({tuple(case.files.items()) for case in again}) == 8
