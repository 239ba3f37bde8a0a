"""Write the licences of all that samespin may install, as a table: `make lock` does it.

What the table says is what the packages declare of themselves. A row of a package that isn't
installed here, since it is for another system or Python, stays as it is.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
TABLE = ROOT / ".ci" / "licences.md"
DEVELOPERS = ("dev", "browser")
PERMISSIVE = re.compile(
    r"(?!.*(GPL|GNU|MPL))(The )?"
    r"(0BSD|MIT|BSD|Apache|ISC|PSF|Python Software Foundation|Zlib|CC0|Unlicense)\b.*"
)
FINE = {
    "cadquery-ocp-novtk": "Open CASCADE within it is LGPL-2.1 with an exception: optional, linked"
    " dynamically, installed by the user and not passed on by us",
    "certifi": "a list of certificates, for developers' tests in a browser",
    "hypothesis": "for developers: it tests, and nothing of it is passed on",
    "pathspec": "for developers: it builds and checks, and nothing of it is passed on",
}
"""Packages that aren't permissive through and through, and why that is fine."""
HEAD = """# Licences of all that may be installed

As the packages declare them; written by `make lock`. Wheels of numpy and scipy also hold GCC's
libraries, under the GPL with the exception for programs that are compiled with it.

| package | licence | for |
|---|---|---|
"""


def packages() -> dict[str, str]:
    """Return what is needed by samespin as it is installed here, and for which of its extras."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = [name for name in project["optional-dependencies"] if name not in DEVELOPERS]
    uses: dict[str, list[str]] = {}
    for extra in ["", *extras, *DEVELOPERS]:
        for name in _closure("samespin", {extra}, set()):
            uses.setdefault(name, []).append(extra)
    uses.pop("samespin")
    return {name: _purpose(uses[name]) for name in sorted(uses)}


def _purpose(extras: list[str]) -> str:
    if "" in extras:
        return "samespin"
    return ", ".join(one for one in extras if one not in DEVELOPERS) or "developers"


def _closure(name: str, extras: set[str], seen: set[str]) -> set[str]:
    """Return the installed packages that one needs with some extras, itself among them."""
    if (key := f"{name}{sorted(extras)}") in seen or not any(metadata.distributions(name=name)):
        return set()
    seen.add(key)
    found = {name}
    for needed in _needs(name, extras):
        found |= _closure(canonicalize_name(needed.name), needed.extras or {""}, seen)
    return found


def _needs(name: str, extras: set[str]) -> Iterator[Requirement]:
    for text in metadata.requires(name) or ():
        one = Requirement(text)
        if one.marker is None or any(one.marker.evaluate({"extra": extra}) for extra in extras):
            yield one


def licence(name: str) -> str:
    """Return what a package says of its licence: an SPDX expression, or its own words."""
    told = metadata.metadata(name)
    classified = [
        one.split(" :: ")[-1]
        for one in told.get_all("Classifier") or ()
        if one.startswith("License ::")
    ]
    own = (told.get("License") or "").strip()
    short = own if len(own) < 50 and "\n" not in own else ""
    return told.get("License-Expression") or short or " AND ".join(classified) or "not told"


def is_permissive(text: str) -> bool:
    """Whether a licence is: of alternatives any, of several all."""
    alternatives = text.strip("()").split(" OR ")
    return any(
        all(PERMISSIVE.fullmatch(one) for one in alternative.split(" AND "))
        for alternative in alternatives
    )


def rows() -> dict[str, str]:
    """Return the rows of the table as it is, by package."""
    lines = TABLE.read_text(encoding="utf-8").splitlines() if TABLE.exists() else []
    return {line.split("`")[1]: line for line in lines if line.startswith("| `")}


def main() -> None:
    """Write it."""
    kept = rows()
    for name, purpose in packages().items():
        why = f" ({FINE[name]})" if name in FINE else ""
        kept[name] = f"| `{name}` | {licence(name)}{why} | {purpose} |"
    locked = re.findall(r"^([\w.-]+)==", (ROOT / ".ci/lock.txt").read_text("utf-8"), re.MULTILINE)
    lines = [kept[name] for name in sorted({*locked} & {*kept})]
    TABLE.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
