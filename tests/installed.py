"""That a wheel and an sdist work where they are installed, without the checkout: for `make dist`.

Each is installed in an empty environment, with the lock's versions. From a folder outside the
checkout, its commands print what the checkout's print. The sdist is what git has, and some of its
tests run.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
import time
import venv
from pathlib import Path

ROOT = Path(__file__).parents[1]
CHECKOUT = Path(sys.executable).parent
COMMANDS = (
    ("--version",),
    ("schema",),
    ("solve", "juniper.toml", "--json"),
    ("check", "linden.toml", "--json"),
    ("schedule", "alder.toml", "--json"),
    ("schedule", "juniper.toml", "-o", "sheet.html", "--force"),
    ("report", "juniper.toml", "-o", "report.html", "--force"),
    ("new", "cedar"),
)
"""They read all that a package holds beside its modules: styles, scripts, tables, the template."""
TESTS = ("tests/shared", "tests/test_readme.py")


def main(*files: str) -> None:
    """Try each file; raise an error if something is wrong."""
    assert {Path(one).suffix for one in files} == {".whl", ".gz"}, f"a wheel and an sdist: {files}"
    with tempfile.TemporaryDirectory() as folder:
        expected = answers(CHECKOUT, Path(folder, "checkout"))
        for one in map(Path, files):
            began = time.monotonic()
            programs = installed(one.resolve(), Path(folder, one.suffix))
            beside = Path(folder, f"beside{one.suffix}")
            got = answers(programs, beside)
            check_origin(programs, beside)
            different = [name for name in expected if got[name] != expected[name]]
            assert not different, f"{one.name}: not what the checkout prints: {different}"
            if one.suffix == ".gz":
                check_sdist(one, Path(folder, "sdist"))
            took = time.monotonic() - began
            sys.stdout.write(f"{one.name}: {len(got)} answers as the checkout's ({took:.0f} s)\n")


def installed(file: Path, environment: Path) -> Path:
    """Return the folder of programs of a new environment with this file and what it needs."""
    venv.create(environment, with_pip=True)
    programs = environment / ("Scripts" if os.name == "nt" else "bin")
    locked = (ROOT / ".ci/lock.txt").read_text(encoding="utf-8")
    constraints = environment / "constraints.txt"
    constraints.write_text("\n".join(re.findall(r"^\S+==[^\\]+", locked, re.MULTILINE)))
    run([programs / "python", "-m", "pip", "install", "--quiet", file],
        PIP_DISABLE_PIP_VERSION_CHECK="1",
        PIP_CONSTRAINT=str(constraints), PIP_BUILD_CONSTRAINT=str(constraints))  # fmt: skip
    return programs


def answers(programs: Path, folder: Path) -> dict[str, bytes]:
    """Return what each command prints, and each file, in a new folder with the scenarios."""
    shutil.copytree(ROOT / "scenarios", folder)
    printed = {}
    for command in COMMANDS:
        printed[" ".join(command)] = run([programs / "samespin", *command], cwd=folder)
        if "-o" in command:
            written = command[command.index("-o") + 1]
            printed[written] = (folder / written).read_bytes()
    printed["cedar.toml"] = (folder / "cedar.toml").read_bytes()
    return printed


def check_origin(programs: Path, folder: Path) -> None:
    """Make sure that what ran was what was installed."""
    told = "import geometry, optimizer, shared; print(geometry, optimizer, shared)"
    lies = run([programs / "python", "-c", told], cwd=folder).decode()
    assert lies.count("site-packages") == 3, f"ran {lies}"


def check_sdist(file: Path, folder: Path) -> None:
    """Compare it with what git has, and run some of its tests in it."""
    with tarfile.open(file) as archive:
        archive.extractall(folder, filter="data")
    (root,) = folder.iterdir()
    holds = {str(path.relative_to(root)) for path in root.rglob("*") if path.is_file()}
    tracked = set(run(["git", "ls-files", "-z"], cwd=ROOT).decode().strip("\0").split("\0"))
    assert holds == {*tracked, "PKG-INFO"}, f"{file.name}: not what git has: {holds ^ tracked}"
    run([CHECKOUT / "pytest", "-q", "-p", "no:cacheprovider", *TESTS], cwd=root)


def run(command: list[str | Path], *, cwd: Path | None = None, **variables: str) -> bytes:
    """Return what a command prints; an error with its words if it fails."""
    environment = {**os.environ, "SAMESPIN_CACHE": "", **variables}
    environment.pop("PYTHONPATH", None)
    ran = subprocess.run(  # noqa: S603 - our own
        command, cwd=cwd, env=environment, capture_output=True, check=False
    )
    assert ran.returncode == 0, (
        f"{command}: {ran.returncode}\n{ran.stdout.decode()}{ran.stderr.decode()}"
    )
    return ran.stdout


if __name__ == "__main__":
    main(*sys.argv[1:])
