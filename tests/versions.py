"""Other versions than those of the lock, and other Pythons than that of `.venv`.

`lowest` prints, as constraints for pip, the lowest version of each package that pyproject.toml
declares for users; `python N` the program of Python 3.N; `newest` that of the newest Python here,
and `turn` that of the one after 3.11 whose turn it is at this commit.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

from whole import commit, turn

ROOT = Path(__file__).parents[1]
DEVELOPERS = ("dev", "browser")
"""Extras of which any version will do."""


def constraints() -> list[str]:
    """Return name==version of every package that is declared as name>=version."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    declared = [
        *project["dependencies"],
        *(one for name in extras if name not in DEVELOPERS for one in extras[name]),
    ]
    return [re.sub(r"^([\w-]+)>=([\w.]+)$", r"\1==\2", one) for one in declared]


def pythons() -> dict[int, str]:
    """Return the Pythons from 3.11 on that run here, by their minor version in ascending order."""
    return {minor: found for minor in range(11, 30) if (found := _found(minor))}


def _found(minor: int) -> str | None:
    return next((one for one in _candidates(f"python3.{minor}") if _runs(one)), None)


def _candidates(name: str) -> Iterator[str]:
    if path := shutil.which(name):
        yield path
    installed = Path(os.environ.get("PYENV_ROOT", "~/.pyenv")).expanduser() / "versions"
    yield from map(str, installed.glob(f"{name.removeprefix('python')}.*/bin/{name}"))


def _runs(python: str) -> bool:
    """Whether it makes environments; a shim of a version not chosen doesn't, nor a bare Debian."""
    tried = [python, "-c", "import ensurepip, venv"]
    return subprocess.run(tried, capture_output=True, check=False).returncode == 0  # noqa: S603


def main(asked: str, minor: str = "11") -> str:
    """Return what is asked for; an exit with a message if it isn't here."""
    if asked == "lowest":
        return "\n".join(constraints())
    here = pythons()
    after = [one for one in here if one > int(minor)]
    if asked == "python" and int(minor) in here:
        return here[int(minor)]
    if asked == "newest" and here:
        return here[max(here)]
    if asked == "turn" and after:
        return here[after[turn("python", len(after), commit())]]
    sys.exit(f"no Python for {asked!r} here, only {', '.join(here.values()) or 'none'}")


if __name__ == "__main__":
    sys.stdout.write(main(*sys.argv[1:]) + "\n")
