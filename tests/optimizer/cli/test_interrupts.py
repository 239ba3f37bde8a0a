"""Ctrl-C and SIGTERM at any moment of a process: exit code 130 soon, one word, and nothing left."""

from __future__ import annotations

import json
import os
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from optimizer_texts import shipped
from waiting import LAST_WORD, PATIENT, PATIENTLY, until

ROOT = Path(__file__).parents[3]
BOTH = pytest.mark.parametrize("sign", [signal.SIGINT, signal.SIGTERM], ids=lambda sign: sign.name)
pytestmark = pytest.mark.skipif(
    not Path("/proc/self/status").exists(), reason="asks Linux what a process listens to"
)


def _begun(*arguments: str, stderr: int = subprocess.PIPE) -> subprocess.Popen[bytes]:
    """Start Python in a process group of its own."""
    return subprocess.Popen(  # noqa: S603  our own command
        [sys.executable, *arguments],
        stdout=subprocess.PIPE,
        stderr=stderr,
        start_new_session=True,
        env={"SAMESPIN_CACHE": "", "PYTHONPATH": str(ROOT), "PATH": os.environ["PATH"]},
    )


def _samespin(*arguments: str, stderr: int = subprocess.PIPE) -> subprocess.Popen[bytes]:
    return _begun("-m", "optimizer.cli", *arguments, stderr=stderr)


def _wait_until_listening(ran: subprocess.Popen[bytes]) -> None:
    """Return once the process has a handler for SIGTERM, which Python has none of by itself."""
    status = Path(f"/proc/{ran.pid}/status")

    def listens() -> bool:
        caught = re.search(r"SigCgt:\s*(\w+)", status.read_text())
        return caught is not None and bool(int(caught[1], 16) >> (signal.SIGTERM - 1) & 1)

    until(lambda: ran.poll() is not None or listens(), 0.001)


def _ended(ran: subprocess.Popen[bytes], sign: signal.Signals) -> tuple[int, str, str]:
    """Send the signal to the process and those it has begun, as a terminal does."""
    os.killpg(ran.pid, sign)
    out, err = ran.communicate(timeout=PATIENT)
    until(lambda: not _left(ran.pid), 0.05)
    return ran.returncode, out.decode(), (err or b"").decode()


def _left(group: int) -> list[int]:
    """The processes of a group that still run: parent, group and state stand in /proc/N/stat."""
    found = []
    for one in Path("/proc").glob("[0-9]*"):
        try:
            state, _, of = (one / "stat").read_text().rpartition(")")[2].split()[:3]
        except OSError:
            continue
        if int(of) == group and state != "Z":
            found.append(int(one.name))
    return found


@BOTH
def test_a_signal_while_all_is_still_imported_is_told_in_one_word(folder, sign):
    ran = _samespin("solve", "alder.toml", "-o", "x.json")
    _wait_until_listening(ran)
    assert _ended(ran, sign) == (130, "", "interrupted\n")
    assert not (folder / "x.json").exists()


LONG = "a long call of C code"
BODIES = {
    LONG: "import hashlib; hashlib.pbkdf2_hmac('sha256', b'', b'', 2**31 - 1)",
    "code that loses it": """
import time
while True:
    try:
        time.sleep(1)
    except KeyboardInterrupt:
        pass
""",
    "code run by exec": """
import sys
try:
    exec("import time; time.sleep(600)")
except KeyboardInterrupt:
    sys.exit(interrupts.told(as_json=as_json))
""",
}


@pytest.mark.parametrize(("body", "as_json"), [(body, body == LONG) for body in BODIES])
def test_what_does_not_end_by_itself_is_ended(body, as_json):
    """Python hears of a signal between two of its own steps, of which some of these have none."""
    ran = _begun(
        "-c",
        f"from optimizer.terminal import interrupts; as_json = {as_json}\n"
        f"interrupts.LAST = {PATIENT}\n"
        "interrupts.listen(as_json=as_json)\n" + BODIES[body],
    )
    _wait_until_listening(ran)
    time.sleep(0.5)  # now it is in its body; at whatever else it is, it ends as well
    code, out, err = _ended(ran, signal.SIGINT)
    assert code == 130
    if as_json:
        assert [one["what"] for one in json.loads(out)["errors"]] == ["interrupted"]
    assert err == ("" if as_json else "interrupted\n")


def _searching(*arguments: str) -> subprocess.Popen[bytes]:
    """Start a command, and return once it tells that a start of its search is done."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    ran = _begun("-c", PATIENTLY, *arguments, stderr=theirs)
    os.close(theirs)
    told = b""
    while not re.search(rb"[1-9]\d* of 50[01]", told):  # told while a person watches
        told += os.read(ours, 1000)
    ran.screen = ours
    return ran


@pytest.fixture
def elder(folder):
    (folder / "elder.toml").write_text(shipped("elder"), encoding="utf-8")
    return folder


RACK = "{ one_of = [6.5, 6.25, 6.0] }"
SLOW = pytest.mark.slow


@pytest.mark.parametrize("rack", [False, pytest.param(True, marks=SLOW)], ids=["free", "rack"])
@pytest.mark.parametrize(
    ("sign", "jobs"),
    [
        (signal.SIGTERM, ["--jobs", "1"]),
        pytest.param(signal.SIGINT, ["--jobs", "2"], marks=SLOW),
        pytest.param(signal.SIGTERM, [], marks=SLOW),
    ],
)
def test_solve_tells_and_writes_the_best_so_far(elder, sign, jobs, rack):
    if rack:
        text = shipped("elder").replace("{ min = 5.80, max = 6.60 }", RACK)
        (elder / "elder.toml").write_text(text, encoding="utf-8")
    ran = _searching("solve", "elder.toml", "-o", "x.json", *jobs, "--starts", "500")
    code, out, _ = _ended(ran, sign)
    told = os.read(ran.screen, 10000).decode()
    assert code == 130, told
    assert "Interrupted: the mould is the best of" in out, told
    saved = json.loads((elder / "x.json").read_text())
    assert saved["search"]["complete"] is False
    assert 1 <= saved["search"]["moulds"] < 500


def test_the_usual_line_up_is_kept_while_one_with_more_good_balls_is_sought(samespin, monkeypatch):
    """As much as is known by then: the search for a mould is over, that for good balls is not."""
    assert samespin("solve", "alder.toml", "-o", "usual.json").code == 0

    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("optimizer.questions.tolerance.drawing._good", interrupted)
    ran = samespin("solve", "alder.toml", "--for", "good-share", "-o", "x.json")
    told = "interrupted: this is the line-up, without what else was asked about it\n"
    assert (ran.code, ran.err) == (130, f"written: x.json\n{told}")
    assert "FEASIBLE" in ran.out
    assert Path("x.json").read_bytes() == Path("usual.json").read_bytes()


EVERY = [
    ["solve", "elder.toml", "--json"],
    ["solve", "elder.toml", "--jobs", "2"],
    ["solve", "alder.toml", "--worth", "-o", "x.json"],
    ["schedule", "elder.toml", "-o", "x.csv"],
    ["report", "elder.toml", "-o", "x.html"],
    ["compare", "elder.toml", "alder.toml", "-o", "x.html"],
    ["sharing", "elder.toml", "-o", "x.html"],
    ["sharing", "alder.toml", "-o", "x.html"],
    ["window", "alder.toml", "-o", "x.html"],
    ["explore", "elder.toml", "--samples", "500", "-o", "table.csv"],
    ["explore", "elder.toml", "--samples", "500", "-o", "table.csv", "--jobs", "2"],
    ["check", "elder.toml"],
]


@pytest.mark.slow
@BOTH
@pytest.mark.parametrize("arguments", EVERY, ids=" ".join)
def test_no_moment_is_a_bad_one(elder, arguments, sign):
    """Moments over the first seconds, more of them early; a run may be done by then."""
    random_ = random.Random(" ".join(arguments))  # noqa: S311 - moments, no secrets
    for _ in range(3):
        ran = _begun("-c", LAST_WORD, *arguments)
        _wait_until_listening(ran)
        time.sleep(4.0 * random_.random() ** 2)
        if ran.poll() is not None:
            out, err = ran.communicate()
            assert ran.returncode == 0, err
            break
        code, out, err = _ended(ran, sign)
        assert "Traceback" not in err
        if code == 0:  # the last moment: its files are at their places
            break
        assert code == 130
        assert "interrupted" in (out if "--json" in arguments and not err else err)
        for path in elder.glob("x.*"):  # only a line-up found before: whole, and told
            assert arguments[0] == "solve"
            assert json.loads(path.read_text(encoding="utf-8"))["status"] == "feasible"
            assert f"written: {path.name}" in err
            path.unlink()
        assert list(elder.glob(".*.part")) == []


IN_AN_IMPORT = """
import signal, sys, time
from optimizer.terminal import interrupts
interrupts.PATIENCE = 600.0
interrupts.listen(as_json=False)
def at(frame, event, _):
    if event == "call" and frame.f_code.co_filename == "<frozen importlib._bootstrap>":
        sys.setprofile(None)
        signal.getsignal(signal.SIGINT)(signal.SIGINT, frame)
        print("not here")
sys.setprofile(at)
try:
    import wave
    time.sleep(600)
except KeyboardInterrupt:
    print("soon")
"""


def test_the_import_system_is_left_before_a_signal_raises():
    """In its own code an exception can leave a module's lock taken: then it waits for ever."""
    out, err = _begun("-c", IN_AN_IMPORT).communicate(timeout=PATIENT)
    assert (out, err) == (b"not here\nsoon\n", b"")


NOT_PASSED_ON = """
import os, signal, sys
from optimizer.terminal import interrupts
interrupts.listen(as_json=False)
try:
    os.kill(os.getpid(), signal.SIGTERM)
except KeyboardInterrupt as error:
    sys.excepthook(type(error), error, error.__traceback__)
    os._exit(0)
"""


def test_what_c_code_can_not_pass_on_is_not_printed():
    """Cython hands such an exception to sys.excepthook, which prints a traceback by itself."""
    out, err = _begun("-c", NOT_PASSED_ON).communicate(timeout=PATIENT)
    assert (out, err) == (b"", b"")
