"""What two states of the project print, side by side: for changes that must not change anything.

    python tests/two_trees.py keep BEFORE            # what this tree prints, into a folder
    python tests/two_trees.py keep AFTER --tree ../other
    python tests/two_trees.py compare BEFORE AFTER   # exits with 1 where they differ

Kept are the exit code and what every command prints with --json, the foundry's sheets, and what is
said of files that are wrong: of the shipped scenarios, variants of them, and random ones.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import numpy as np
from oracles.lineups import manufactured

ROOT: Final = Path(__file__).parents[1]
LONGEST: Final = 600
"""s that one command may take."""
COMMANDS: Final = {
    "check": ("check", "{file}", "--json"),
    "solve": ("solve", "{file}", "--json"),
    "exact": ("solve", "{file}", "--exact", "--json"),
    "window": ("window", "{file}", "--json"),
    "sharing": ("sharing", "{file}", "--json"),
    "saved": ("solve", "{file}", "-o", "{name}.solution.json", "--force", "--json"),
    "schedule": ("schedule", "{name}.solution.json", "--json"),
    "sheet": ("schedule", "{name}.solution.json", "-o", "{name}.sheet.csv"),
    "compare": ("compare", "{name}.solution.json", "juniper.solution.json", "--json"),
}
QUICK: Final = ("check", "solve")
"""Asked of random scenarios, of which there are many."""
VARIANTS: Final = {
    "impossible": ("differential = 0.040", "differential = 0.400"),
    "near": ("differential = 0.040", "differential = 0.058"),
    "centre": ('about        = "cg"', 'about        = "centre"'),
    "tied": ('name     = "cover" ', 'same_density = "all"\nname     = "cover" '),
    "without-rules": ('rulebook = "usbc"', ""),
    "light": ("13 = 13.12", "9 = 9.0"),
    "equal": ("top_weight = {", "top_weight = { min = 2.5, max = 2.5 }\n# {"),
    "metric-words": ('rg      = "in"', 'rg      = "mm"'),
}
"""Of Juniper: what stands there, and what instead."""
KINDS: Final = ("aligned", "tilted", "triaxial", "round")


def scenarios(folder: Path, count: int) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Write the scenarios into `folder`, and yield the name of each and what is asked of it."""
    for file in sorted((ROOT / "scenarios").iterdir()):
        if file.suffix in {".toml", ".stl"}:
            shutil.copy(file, folder)
    shipped = sorted(file.stem for file in folder.glob("*.toml"))
    shipped.sort(key=lambda name: name != "juniper")  # the others are compared with it
    juniper = (folder / "juniper.toml").read_text("utf-8")
    texts = dict[str, str]()
    for name, (old, new) in VARIANTS.items():
        texts[name] = juniper.replace(old, new)
    chosen = np.random.default_rng(9)
    for k in range(count):
        line, _ = manufactured(chosen, KINDS[k % 4], ("cg", "centre")[k % 2])
        off = chosen.uniform(0.9, 1.1) if k % 3 == 0 else 1.0
        texts[f"random-{k}"] = line.but(weights={"15": line.weights["15"] * off}).text()
    texts |= dict(_wrong(juniper, count))
    for name, text in texts.items():
        (folder / f"{name}.toml").write_text(text, "utf-8")
    yield from ((name, tuple(COMMANDS)) for name in [*shipped, *VARIANTS])
    yield from ((name, QUICK) for name in texts if name not in VARIANTS)


def _wrong(text: str, count: int) -> Iterator[tuple[str, str]]:
    """Yield texts with one line left out, said twice, or with one of its numbers changed."""
    lines, pick = text.splitlines(), random.Random(5)  # noqa: S311 - nothing secret
    where = [i for i, line in enumerate(lines) if line.strip() and not line.startswith("#")]
    for k in range(count):
        i = pick.choice(where)
        instead = ([], [lines[i]] * 2, [lines[i].replace("0", "-7").replace("1", "x")])[k % 3]
        yield f"wrong-{k}", "\n".join([*lines[:i], *instead, *lines[i + 1 :]]) + "\n"


def keep(folder: Path, tree: Path, count: int) -> None:
    """Put what `tree` prints into `folder`."""
    folder.mkdir(parents=True)
    env = os.environ | {"PYTHONPATH": str(tree)}
    for name, asked in scenarios(folder, count):
        for command in asked:
            words = [word.format(file=f"{name}.toml", name=name) for word in COMMANDS[command]]
            done = subprocess.run(  # noqa: S603 - our own commands
                [sys.executable, "-m", "optimizer.cli", *words],
                cwd=folder, env=env, capture_output=True, text=True, check=False, timeout=LONGEST,
            )  # fmt: skip
            told = {"code": done.returncode, "out": done.stdout, "err": done.stderr}
            (folder / f"{name}.{command}.told").write_text(json.dumps(told), "utf-8")


def differences(before: Path, after: Path) -> Iterator[str]:
    """Yield what differs, a line each; margins and the like are compared in any order."""
    names = {
        f.name for one in (before, after) for f in one.iterdir() if f.suffix in {".told", ".csv"}
    }
    for name in sorted(names):
        if not ((before / name).exists() and (after / name).exists()):
            yield f"{name}: in one of the two only"
            continue
        one, other = (_content((folder / name).read_text("utf-8")) for folder in (before, after))
        yield from (f"{name}: {what}" for what in _differing(one, other, ""))


def _content(text: str) -> Any:
    """Return JSON as what it says, other text as its lines, down to what JSON holds as text."""
    try:
        found = json.loads(text)
    except ValueError:
        return text.splitlines()
    if isinstance(found, dict):
        return {key: _content(v) if isinstance(v, str) else v for key, v in found.items()}
    return found


def _differing(one: Any, other: Any, path: str) -> Iterator[str]:
    if isinstance(one, dict) and isinstance(other, dict):
        for key in sorted({*one, *other}):
            yield from _differing(one.get(key), other.get(key), f"{path}/{key}")
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        if sorted(map(repr, one)) == sorted(map(repr, other)):
            return
        for k, (a, b) in enumerate(zip(one, other, strict=True)):
            yield from _differing(a, b, f"{path}[{k}]")
    elif one != other:
        yield f"{path}: {str(one)[:200]} | {str(other)[:200]}"


def main() -> int:
    """Keep or compare, as the command line says."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("what", choices=("keep", "compare"))
    parser.add_argument("folder", type=Path)
    parser.add_argument("other", type=Path, nargs="?")
    parser.add_argument("--tree", type=Path, default=ROOT)
    parser.add_argument("--random", type=int, default=200, help="how many random scenarios")
    given = parser.parse_args()
    if given.what == "keep":
        keep(given.folder, given.tree.resolve(), given.random)
        return 0
    if given.other is None:
        parser.error("two folders are compared")
    found = list(differences(given.folder, given.other))
    sys.stdout.writelines(f"{line}\n" for line in found)
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main())
