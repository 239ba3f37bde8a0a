"""Proofs as their reader checks them: with samespin, or with nothing but Python."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys

import pytest
from optimizer_texts import FOLDER, SCENARIOS

from optimizer.terminal.frame import DONE, INFEASIBLE, INPUT, UNDECIDED, USAGE

pytestmark = pytest.mark.usefixtures("remembered")

ROOT = FOLDER.parent
ALONE = [sys.executable, "-I", "-S", "-c"]
MAIN = "import runpy, sys; sys.path.insert(0, {!r}); sys.argv[1:] = {!r}; {}"
RUN = "runpy.run_module('optimizer.certificate', run_name='__main__')"


def alone(*files: str) -> subprocess.CompletedProcess[str]:
    """Check files with Python alone: no packages but those of the checkout are importable."""
    line = [*ALONE, MAIN.format(str(ROOT), files, RUN)]
    return subprocess.run(line, capture_output=True, text=True, check=False)  # noqa: S603 - ours


@pytest.fixture
def proven(samespin, folder):
    """The name of a file of proofs, beside its scenario."""
    assert samespin("solve", "cedar.toml", "--proof", "p.json").code == INFEASIBLE
    return "p.json"


def test_without_packages_there_is_no_numpy():
    line = [*ALONE, "import numpy"]
    ran = subprocess.run(line, capture_output=True, text=True, check=False)  # noqa: S603 - ours
    assert "No module named 'numpy'" in ran.stderr


@pytest.mark.turns(5)
@pytest.mark.parametrize("far", [False, True])
@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_proof_that_solve_writes_is_found_to_hold(path, far, samespin, folder):
    """Of what is shipped, and of the same with a differential that nothing reaches."""
    for file in FOLDER.glob(f"{path.stem}*.*"):
        shutil.copy(file, folder)
    text = path.read_text(encoding="utf-8")
    text = re.sub(
        r"share = {[^}]*}", "share = 0.55", text
    )  # proofs are about a blend that is given
    if far:
        text, count = re.subn(r"(?m)^(differential *= )[^#\n]*", r"\g<1>0.35", text)
        assert count == 1
    (folder / path.name).write_text(text, encoding="utf-8")
    ran = samespin("solve", path.name, "--proof", "p.json", "--starts", "1")
    assert ran.code in ((INFEASIBLE, UNDECIDED) if far else (DONE, INFEASIBLE))
    if not (folder / "p.json").exists():
        assert ran.code == UNDECIDED
        assert "nothing is proven" in ran.err
        return
    checked = samespin("proof", "p.json", "--json")
    told = json.loads(checked.out)
    assert (checked.code, told["holds"], told["differing"]) == (DONE, True, [])
    assert told["claims"]
    ran = alone("p.json")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert len(ran.stdout.splitlines()) == len(told["claims"])
    assert not re.search("NOT", ran.stdout)


def test_what_is_proven_is_told_with_its_numbers(proven, samespin):
    ran = samespin("proof", proven)
    assert ran.code == DONE
    assert "each shown" in ran.out
    assert "no line-up of 15 has all that follows" in ran.out
    assert "target: low RG 6.477 cm" in ran.out
    assert "differential 0.10668 cm" in ran.out
    assert "15: class weight" in ran.out


def test_a_changed_scenario_is_told(proven, samespin, folder):
    """Its SHA-256 is another, and so is what it asks."""
    text = (folder / "cedar.toml").read_text()
    for old, new, told in (
        ("2.55", "2.56", "another low RG"),
        ("15.1", "15.3", "a limit, 'mass', that the scenario doesn't have"),
        ("height = 5.0", "height = 5.1", "the moments are not those of the parts as drawn"),
    ):
        assert old in text
        (folder / "cedar.toml").write_text(text.replace(old, new))
        ran = samespin("proof", proven)
        assert ran.code == INFEASIBLE
        assert "another SHA-256" in ran.out
        assert told in ran.out
    (folder / "cedar.toml").unlink()
    ran = samespin("proof", proven)
    assert ran.code == DONE
    assert "not compared with a scenario" in ran.out


def test_what_asks_for_more_than_the_scenario_is_told(proven, samespin, folder):
    """The claim stands, but it is about something else."""
    data = json.loads((folder / proven).read_text())
    for change, told in (
        (lambda q: q["figures"].__setitem__(0, [6.4, 6.45]), "another low RG"),
        (lambda q: q.update(asked=True), "intermediate differential that the scenario doesn't ask"),
        (lambda q: q.update(about_cg=[False]), "RGs are about another point"),
        (lambda q: q.update(offset=[0.0, 0.5]), "CG offset that the scenario doesn't ask for"),
        (lambda q: q["densities"].__setitem__(0, [1.0, 1.01]), "held within narrower densities"),
        (lambda q: q.update(columns=[[0, 0]]), "needn't be"),
    ):
        changed = json.loads(json.dumps(data))
        change(changed["claims"][0]["question"])
        (folder / "q.json").write_text(json.dumps(changed))
        ran = samespin("proof", "q.json")
        assert ran.code == INFEASIBLE
        assert re.search(told, ran.out), ran.out


def test_a_false_claim_is_told(proven, samespin, folder):
    data = json.loads((folder / proven).read_text())
    data["claims"][0]["none"] = ["rows"]
    (folder / "q.json").write_text(json.dumps(data))
    ran = samespin("proof", "q.json")
    assert ran.code == INFEASIBLE
    assert "NOT PROVEN" in ran.out.splitlines()[0]
    told = json.loads(samespin("proof", "q.json", "--json").out)
    assert not told["holds"]
    assert not told["claims"][0]["shown"]
    ran = alone("q.json")
    assert ran.returncode == 4
    assert ran.stdout.startswith("NOT PROVEN: no line-up of 15")


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ('{"format": "samespin/solution@1"}', "no file of proofs"),
        ("<html></html>", "not JSON that --proof wrote"),
        ("[" * 100_000, "not JSON that --proof wrote"),
        ('{"format": "samespin/proof@1"}', "not written as a proof"),
        ('{"format": "samespin/proof@1", "balls": [], "claims": []}', "not written as a proof"),
        ('{"format": "samespin/proof@1", "balls": {}, "claims": 1}', "not written as a proof"),
        ("1" * 5000, "not JSON that --proof wrote"),
        (" " * 51_000_000, "larger than 50 MB"),
        ("[" + "[],[]," * 1_000_000, "more than 2000000 values"),
        (
            '{"format": "samespin/proof@1", "balls": {}, "claims": [' + "1," * 10_000 + "1]}",
            "more than 10000 claims",
        ),
    ],
    ids=lambda value: str(value)[:30],
)
def test_a_file_that_is_none_is_one_clear_error(content, told, samespin, folder):
    (folder / "p.json").write_text(content)
    ran = samespin("proof", "p.json")
    assert (ran.code, ran.out, ran.err.count("\n")) == (INPUT, "", 1)
    assert ran.err.startswith("p.json: ")
    assert told in ran.err
    if len(content) < 1e6 and "claims" not in told:
        ran = alone("p.json")
        assert (ran.returncode, ran.stdout) == (3, "")
        assert "Traceback" not in ran.stderr


def test_python_alone_tells_what_it_can_not_read(folder):
    for files, code in ((("none.json",), 3), ((), 2), (("a", "b"), 2)):
        ran = alone(*files)
        assert (ran.returncode, ran.stdout, ran.stderr.count("\n")) == (code, "", 1)


def test_words_of_a_file_do_not_steer_a_terminal(proven, samespin, folder):
    steering = "\x1b[31m\x9b2J\u202e\x07\ud800"
    text = (folder / proven).read_text()
    data = json.loads(text.replace('"15"', json.dumps(f"15{steering}")))
    data["scenario"] |= {"name": f"A{steering}", "sha256": steering}
    data["claims"][0]["about"] = f"none {steering}"
    (folder / "q.json").write_text(json.dumps(data))
    for out in (samespin("proof", "q.json").out, alone("q.json").stdout):
        assert not re.search("[\x1b\x9b\u202e\x07\ud800]", out)
    told = samespin("proof", "q.json", "--json").out
    assert told.isascii() or not re.search("[\x1b\x9b\u202e\x07]", told)
    json.loads(told)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (("--proof", "p.txt"), "name it FILE.json"),
        (("--proof", "p.json", "-o", "p.json"), "not that of -o"),
        (("--proof", "p.json", "--trade", "rg"), "about one line-up"),
        (("--proof", "p.json", "--apply", "1", "-o", "new.toml"), "goes without --apply"),
    ],
)
def test_a_file_of_proofs_that_makes_no_sense_is_refused(line, told, samespin, folder):
    ran = samespin("solve", "cedar.toml", *line)
    assert ran.code == USAGE
    assert told in re.sub(r"\s+", " ", ran.err)
    assert not (folder / "p.json").exists()


def test_a_file_of_proofs_is_not_written_over_another(proven, samespin, folder):
    before = (folder / proven).read_bytes()
    ran = samespin("solve", "cedar.toml", "--proof", proven)
    assert ran.code == INPUT
    assert "already exists" in ran.err
    assert (folder / proven).read_bytes() == before
    assert samespin("solve", "cedar.toml", "--proof", proven, "--force").code == INFEASIBLE
