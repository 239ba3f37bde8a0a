"""`samespin explore` as a person runs it: begun, stopped, gone on with."""

from __future__ import annotations

import csv
import io
import json
import os
import shlex
import signal
import subprocess
import sys
import xml.etree.ElementTree as ET
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import chdir
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from optimizer_texts import SHELLS
from store import stored
from waiting import PATIENT, PATIENTLY, until

from optimizer.cli.app import run
from optimizer.terminal import lock

pytestmark = pytest.mark.usefixtures("remembered")

ROOT = Path(__file__).parents[3]
BED = "bed = { min = 140.0, max = 200.0 }"
TYPED = ("explore", "shells.toml", "--samples", "24", "--seed", "5", "-o")


@pytest.fixture
def shells(folder):
    """The folder with a scenario whose candidates take a twentieth of a second each."""
    text = SHELLS.replace("bed = { min = 100.0, max = 200.0 }", BED)
    assert BED in text
    (folder / "shells.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def whole(shells) -> bytes:
    """The table of 24 candidates, made without a stop."""
    content = _table((shells / "shells.toml").read_text(encoding="utf-8"))
    (shells / "whole.csv").write_bytes(content)
    return content


@stored
def _table(text: str) -> bytes:
    with TemporaryDirectory() as folder, chdir(folder):
        Path("shells.toml").write_text(text, encoding="utf-8")
        assert run((*TYPED, "whole.csv", "--json")) == 0
        return Path("whole.csv").read_bytes()


def _rows(content: bytes):
    return list(csv.DictReader(io.StringIO(content.decode())))


def _stopped(
    shells: Path,
    name: str,
    sign: signal.Signals,
    *,
    at_least: int,
    jobs: int = 1,
    group: bool = False,
):
    """Run the command in a process, and send it a signal once so many rows are done."""
    command = [sys.executable, "-c", PATIENTLY, *TYPED, name, "--jobs", str(jobs)]
    ran = subprocess.Popen(  # noqa: S603  our own command
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=shells,
        encoding="utf-8",
        start_new_session=True,
        env={"SAMESPIN_CACHE": "", "PYTHONPATH": str(ROOT), "PATH": os.environ["PATH"]},
    )
    path = shells / name
    until(lambda: path.exists() and path.read_bytes().count(b"\n") > at_least)
    os.killpg(ran.pid, sign) if group else ran.send_signal(sign)
    out, err = ran.communicate(timeout=PATIENT)
    return ran.returncode, out, err


def test_screen_table_and_picture_say_the_same(samespin, shells, whole):
    ran = samespin(*TYPED, "whole.csv", "--picture", "whole.svg")
    rows = _rows(whole)
    assert ran.code == 0
    assert [row["candidate"] for row in rows] == [str(n) for n in range(1, 25)]
    feasible = [row for row in rows if row["status"] == "feasible"]
    assert 0 < len(feasible) < 24
    best = max(feasible, key=lambda row: float(row["margin_tolerances"]))
    (within,) = [row for row in rows if row["status"] == "within_tolerance"]
    assert 0.0 < float(within["off_target_tolerances"]) <= 1.0
    counted = f"24 candidates, {len(feasible)} feasible, 1 within tolerance"
    assert f"{counted}. Best: candidate {best['candidate']}," in ran.out
    assert f"start = {float(best['bed [mm]']):g} }}" in ran.out
    assert ran.out.endswith("Next: samespin solve shells.toml\n")
    assert ran.err == "written: whole.csv\nwritten: whole.svg\n"
    assert (shells / "whole.csv").read_bytes() == whole  # nothing was left to be done
    root = ET.parse(shells / "whole.svg").getroot()  # noqa: S314 - our own
    assert sum(one.get("class") == "feasible" for one in root) == len(feasible)


@pytest.mark.parametrize("jobs", [1, 2])
def test_after_a_kill_it_goes_on_to_the_same_table(samespin, shells, whole, jobs):
    """Workers that are left alone end, too: they hold the streams that are read to their end."""
    code, out, _ = _stopped(shells, "cut.csv", signal.SIGKILL, at_least=1, jobs=jobs)
    assert (code, out) == (-signal.SIGKILL, "")
    left = (shells / "cut.csv").read_bytes()
    done = left.count(b"\n") - 1
    assert 1 <= done < 24
    assert (shells / ".cut.csv.lock").exists()  # the run is gone, and so is its lock
    with (shells / "cut.csv").open("ab") as stream:
        stream.write(whole[len(left) :][:20])  # a line half written
    ran = samespin(*TYPED, "cut.csv", "--json")
    assert (ran.code, ran.err) == (0, f"continuing after {done} of 24\n")
    assert (shells / "cut.csv").read_bytes() == whole
    assert not list(shells.glob(".*.lock"))


def test_a_table_that_another_run_writes_is_left_alone(samespin, shells, whole):
    (shells / "few.csv").write_bytes(whole[: whole.index(b"\n3,")])
    (shells / "link.csv").symlink_to("few.csv")
    before = (shells / "few.csv").read_bytes()
    with lock.alone(shells / "few.csv"):
        for name in ("few.csv", "link.csv"):
            ran = samespin(*TYPED, name, "--force")
            assert (ran.code, ran.out) == (3, "")
            assert f"{name}: is being written by another run: process {os.getpid()} on" in ran.err
            assert "few.csv.lock); wait until it is done" in ran.err
        assert samespin(*TYPED, "other.csv", "--json").code == 0
    assert (shells / "few.csv").read_bytes() == before
    assert samespin(*TYPED, "few.csv", "--json").code == 0
    assert (shells / "few.csv").read_bytes() == whole


def test_a_lock_that_is_removed_while_it_is_waited_for_is_no_lock(shells, monkeypatch):
    """Its holder removes it between our opening and locking it: a third run would make another."""
    taken = []

    def locked(stream):
        if not taken:
            (shells / ".t.csv.lock").unlink()
        taken.append(stream)

    monkeypatch.setattr(lock, "_lock", locked)
    with lock.alone(shells / "t.csv"):
        assert len(taken) == 2
        assert str(os.getpid()) in (shells / ".t.csv.lock").read_text()
    assert not (shells / ".t.csv.lock").exists()


def test_a_full_disk_keeps_whole_rows_and_says_how_to_go_on(samespin, shells, whole):
    """As a limit on a file's size: the kernel writes up to it, and refuses the rest of a row."""
    line = shlex.join([sys.executable, "-m", "optimizer.cli", *TYPED, "cut.csv"])
    ran = subprocess.run(  # noqa: S603  our own command
        ["/bin/sh", "-c", f"ulimit -f 4; exec {line}"],
        cwd=shells,
        capture_output=True,
        encoding="utf-8",
        check=False,
        env={
            "SAMESPIN_CACHE": "",
            "PYTHONPATH": str(ROOT),
            "PATH": os.environ["PATH"],
            "PYTHONDONTWRITEBYTECODE": "1",
        },
    )
    left = (shells / "cut.csv").read_bytes()
    done = left.count(b"\n") - 1
    assert 0 < done < 24
    assert left.endswith(b"\n")
    assert whole.startswith(left)
    assert (ran.returncode, ran.stdout) == (3, "")
    assert ran.stderr == (
        f"cut.csv: can't be written (File too large); stopped after {done} of 24 candidates, which "
        "are kept in cut.csv; type the same line again to go on\n"
    )
    assert samespin(*TYPED, "cut.csv", "--json").code == 0
    assert (shells / "cut.csv").read_bytes() == whole


class _Dying(ThreadPoolExecutor):
    """Runs two tasks and breaks, as a pool does of whose processes one is killed."""

    def __init__(self, *_arguments, **_options):
        super().__init__(1)
        self.left = 1 + 2  # one that begins its process, and two candidates

    def submit(self, *task):
        """Run a task, or break."""
        self.left -= 1
        if self.left >= 0:
            return super().submit(*task)
        broken = Future()
        broken.set_exception(BrokenProcessPool("killed"))
        return broken


def test_a_killed_worker_keeps_what_is_done(samespin, shells, whole, monkeypatch):
    with monkeypatch.context() as patched:
        patched.setattr("optimizer.lineup.moulds.pools.ProcessPoolExecutor", _Dying)
        ran = samespin(*TYPED, "cut.csv", "--jobs", "2")
    assert (ran.code, ran.out) == (3, "")
    kept = (shells / "cut.csv").read_bytes() if (shells / "cut.csv").exists() else b""
    assert whole.startswith(kept)
    done = (
        f"after {len(kept.splitlines()) - 1} of 24 candidates, which are kept in cut.csv; type "
        "the same line again to go on"
    )
    assert ran.err == (
        "a worker process was killed, perhaps for want of memory; stopped "
        f"{done if kept else 'before the first candidate was done'}; --jobs 1 needs the least\n"
    )
    assert samespin(*TYPED, "cut.csv", "--json").code == 0
    assert (shells / "cut.csv").read_bytes() == whole


def test_more_jobs_make_the_same_table(samespin, shells, whole):
    assert samespin(*TYPED, "two.csv", "--jobs", "2", "--json").code == 0
    assert (shells / "two.csv").read_bytes() == whole


@pytest.mark.parametrize("jobs", [1, 2])
def test_an_interrupt_keeps_what_is_done_and_says_how_to_go_on(samespin, shells, whole, jobs):
    """As a terminal does it, which tells the workers, too."""
    code, out, err = _stopped(shells, "cut.csv", signal.SIGINT, at_least=1, jobs=jobs, group=True)
    left = (shells / "cut.csv").read_bytes()
    done = left.count(b"\n") - 1
    assert (code, out) == (130, "")
    assert err == (
        f"interrupted after {done} of 24 candidates, which are kept in cut.csv; type the same line "
        "again to go on\n"
    )
    assert whole.startswith(left)
    assert list(shells.glob(".*.part")) == []


def test_a_larger_number_goes_on_from_a_smaller_one(samespin, shells, whole):
    few = [one if one != "24" else "7" for one in TYPED]
    assert samespin(*few, "grown.csv", "--json").code == 0
    assert len(_rows((shells / "grown.csv").read_bytes())) == 7
    ran = samespin(*TYPED, "grown.csv", "--json")
    assert ran.err == "continuing after 7 of 24\n"
    assert (shells / "grown.csv").read_bytes() == whole


def test_json_tells_the_best_and_where_the_table_is(samespin, shells, whole):
    data = json.loads(samespin(*TYPED, "whole.csv", "--json").out)
    assert data["format"] == "samespin/explore@1"
    assert (data["seed"], data["candidates"], data["written"]) == (5, 24, ["whole.csv"])
    rows = _rows(whole)
    assert sum(data["statuses"].values()) == 24
    best = data["best"][0]
    told = rows[best["candidate"] - 1]
    assert best["dimensions"] == {"bed [mm]": float(told["bed [mm]"])}
    assert best["margin_tolerances"] == float(told["margin_tolerances"])


def test_a_parquet_table_grows_too(samespin, shells, whole):
    parquet = pytest.importorskip("pyarrow.parquet", reason="the extra `tables` is not installed")
    few = [one if one != "24" else "7" for one in TYPED]
    assert samespin(*few, "grown.parquet", "--json").code == 0
    ran = samespin(*TYPED, "grown.parquet", "--json")
    assert (ran.code, ran.err) == (0, "continuing after 7 of 24\n")
    held = parquet.read_table(shells / "grown.parquet").to_pylist()
    assert [row["margin_tolerances"] for row in held] == [
        float(row["margin_tolerances"]) if row["margin_tolerances"] else None
        for row in _rows(whole)
    ]
    assert not list(shells.glob("*.rows.csv"))


def test_another_seed_or_scenario_is_refused_unless_forced(samespin, shells, whole):
    other = [one if one != "5" else "6" for one in TYPED]
    ran = samespin(*other, "whole.csv")
    assert (ran.code, ran.out) == (3, "")
    assert ran.err == (
        "whole.csv: is the table of seed 5, not 6; choose another name, or begin it anew with "
        "--force\n"
    )
    assert (shells / "whole.csv").read_bytes() == whole
    forced = [one if one != "24" else "2" for one in other]
    assert samespin(*forced, "whole.csv", "--force", "--json").code in {0, 6}
    rows = _rows((shells / "whole.csv").read_bytes())
    assert [row["seed"] for row in rows] == ["6", "6"]


def test_a_foreign_file_is_left_alone(samespin, shells):
    (shells / "mine.csv").write_text("my,notes\n")
    ran = samespin(*TYPED, "mine.csv", "--json")
    (error,) = json.loads(ran.out)["errors"]
    assert (ran.code, error["file"]) == (3, "mine.csv")
    assert error["what"] == "is there already, and is no table of samespin explore"
    assert (shells / "mine.csv").read_text() == "my,notes\n"


def test_nothing_feasible_is_exit_code_6(samespin, shells):
    text = (shells / "shells.toml").read_text(encoding="utf-8")
    (shells / "far.toml").write_text(text.replace("min = 140.0", "min = 190.0"), encoding="utf-8")
    ran = samespin("explore", "far.toml", "--samples", "3", "-o", "far.csv")
    assert ran.code == 6
    assert "3 candidates, 0 feasible. Nearest: candidate" in ran.out


def test_none_is_called_best_that_is_worse_than_the_drawing(samespin, shells):
    """The drawing at the mould that solve finds best: no sample of the box comes up to it."""
    data = json.loads(samespin("solve", "shells.toml", "--json").out)
    best = data["weights"][0]["dimensions"]["bed"]
    text = (shells / "shells.toml").read_text(encoding="utf-8")
    at_best = text.replace(BED, BED.replace(" }", f", start = {best!r} }}"))
    (shells / "best.toml").write_text(at_best, encoding="utf-8")
    ran = samespin("explore", "best.toml", "--samples", "6", "-o", "best.csv", "--json")
    told = json.loads(ran.out)
    assert told["best"][0]["candidate"] == 1
    assert told["best"][0] == told["as_drawn"]
    assert told["best"][0]["dimensions"] == {"bed [mm]": best}
    assert told["best"][0]["margin_tolerances"] == data["smallest_margin"]["tolerances"]


def test_a_rack_alone_has_only_so_many(samespin, shells):
    text = (shells / "shells.toml").read_text(encoding="utf-8")
    rack = text.replace(BED, "bed = { one_of = [150.0, 155.0, 199.0] }")
    (shells / "rack.toml").write_text(rack, encoding="utf-8")
    ran = samespin("explore", "rack.toml", "--samples", "9", "-o", "rack.csv", "--json")
    assert ran.err == "the rack has 3 candidates only\n"
    rows = _rows((shells / "rack.csv").read_bytes())
    assert [row["bed [mm]"] for row in rows] == ["150.0", "155.0", "199.0"]


@pytest.mark.parametrize(
    ("typed", "code", "said"),
    [
        (("shells.toml", "--samples", "0", "-o", "t.csv"), 2, "greater than or equal to 1"),
        (("shells.toml", "-o", "t.csv"), 2, "Missing option '--samples'"),
        (("shells.toml", "--samples", "3"), 2, "Missing option '-o'"),
        (("shells.toml", "--samples", "3", "-o", "t.txt"), 2, "must be .csv or .parquet"),
        (("shells.toml", "--samples", "3", "-o", "no/t.csv"), 3, "there is no folder no"),
        (
            ("shells.toml", "--samples", "3", "-o", "t.csv", "--jobs", "2", "--scheduler", "x"),
            2,
            "a cluster uses all of its workers",
        ),
        (("alder.toml", "--samples", "3", "-o", "t.csv"), 3, "no dimension is free"),
        (("birch.toml", "--samples", "3", "-o", "t.csv"), 3, "[target]"),
    ],
)
def test_what_can_not_be_is_refused_before_any_work(samespin, shells, typed, code, said):
    ran = samespin("explore", *typed)
    assert (ran.code, ran.out) == (code, "")
    assert said in " ".join(ran.err.replace("│", " ").split())
    assert not (shells / "t.csv").exists()


def test_no_scheduler_leaves_no_file(samespin, shells, monkeypatch):
    pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    monkeypatch.setattr("optimizer.lineup.moulds.cluster.PATIENCE", 1.0)
    ran = samespin(*TYPED, "t.csv", "--scheduler", "tcp://127.0.0.1:1")
    assert ran.code == 3
    assert "does not answer as a Dask scheduler" in ran.err
    assert not (shells / "t.csv").exists()
