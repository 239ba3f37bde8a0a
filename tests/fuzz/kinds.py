"""Mutants of each kind of file, with a command that reads it: the same for the same seed."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from random import Random
from typing import Final

from fuzz import bodies, corpus, options, plausible, tables, texts, trees, values
from fuzz.corpus import Corpus
from fuzz.trial import Case
from openpyxl.utils.exceptions import IllegalCharacterError

CORPUS: Final = Corpus()
ON_SCENARIOS: Final = ("check",) * 30 + ("solve",) * 10 + ("schedule",) * 3 + ("window",) * 3 + (
    "sharing", "compare", "compare", "report", "report", "tolerance", "explore")  # fmt: skip
ON_SOLUTIONS: Final = (
    ("schedule",) * 6 + ("compare",) * 4 + ("report",) * 3 + ("reconcile", "tolerance")
)
ON_LINES: Final = (
    ("solve",) * 8
    + ("check",) * 5
    + ("window", "window", "schedule", "schedule", "report", "compare", "tolerance")
)
SUFFIXES: Final = ("json", "csv", "html", "xlsx")
QUICK: Final = ("mite", "one", "spread", "alder", "holly", "juniper", "larch-metric", "tansy")
"""Scenarios that every command answers within a second or so."""
SLOWER: Final = ("aspen", "free", "hawthorn", "rowan", "two-pours", "yew")
SCARCE: Final = ("tolerance", "explore", "sharing", "window", "report", "solve")


def scenarios(random: Random) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return a scenario's mutant and a command that reads it."""
    command = random.choice(ON_SCENARIOS)
    known = QUICK if command in SCARCE else [*corpus.NAMES, "mite", "spread", "free"]
    name = random.choice(("free",) if command == "explore" else known)
    text = CORPUS.scenarios[name]
    if random.random() < 0.75:
        donors = trees.Grown(list(CORPUS.trees.values()), CORPUS.schema)
        tree = trees.mutated(random, CORPUS.trees[name], donors)
        content = texts.toml(random, tree).encode("utf-8", "surrogatepass")
    else:
        content = texts.mutated(random, text.encode())
    return {"x.toml": content}, _line(random, command, "x.toml")


def lines(random: Random) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return a line that a designer might draw, changed here and there, and a command on it."""
    command = random.choice(ON_LINES)
    known = (*QUICK, *SLOWER) if command in {"check", "solve", "schedule"} else QUICK
    tree = plausible.changed(random, CORPUS.trees[random.choice(known)])
    return {"x.toml": texts.toml(random, tree).encode()}, _line(random, command, "x.toml")


def solutions(random: Random) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return a saved solution's mutant and a command that reads it."""
    command = random.choice(ON_SOLUTIONS)
    quick = ("mite", "stone", "tansy")
    name = random.choice(quick if command in {"tolerance", "reconcile"} else corpus.SOLVED)
    content = CORPUS.solution(name)
    files = {"x.json": _json(random, content)}
    if command == "reconcile":
        files["m.csv"] = tables.written(tables.rows(), ",")
        return files, _line(random, command, "x.json", "m.csv")
    return files, _line(random, command, "x.json")


def pages(random: Random) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return a mutant of a report's page, in its solution or around it, and a command."""
    page = CORPUS.page(random.choice(corpus.PAGES))
    found = re.search(rb'(?s)(<script type="application/json" id="solution">)(.*?)</script>', page)
    if found is None or random.random() < 0.2:
        content = texts.mutated(random, page)
    else:
        start, end = found.span(2)
        content = page[:start] + _json(random, found[2]) + page[end:]
    return {"x.html": content}, _line(random, random.choice(("schedule", "compare")), "x.html")


def proofs(random: Random) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return a mutant of a file of proofs, mostly beside its scenario, and what checks it."""
    name = random.choice(corpus.PROVEN)
    content = CORPUS.proof(name)
    if random.random() < 0.2:
        content = texts.mutated(random, content)
    else:
        tree = json.loads(content)
        tree = trees.mutated(random, tree, trees.Grown([tree]))
        content = json.dumps(tree, default=str).encode()
    files = {"y.json": content}
    if random.random() < 0.8:
        files["x.toml"] = CORPUS.scenarios[name].encode()
    return files, _line(random, "proof", "y.json", writes=False)


def sheets(random: Random) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return a mutant of a schedule, and the command that compares it."""
    suffix = random.choice(("csv", "csv", "xlsx"))
    name, content = f"s.{suffix}", CORPUS.sheet(suffix)
    if suffix == "xlsx":
        content = (
            texts.rearchived(random, content)
            if random.random() < 0.7
            else texts.mutated(random, content)
        )
    elif random.random() < 0.6:
        content = tables.written(
            tables.edited(random, tables.parsed(content)), random.choice(",;\t")
        )
    else:
        content = texts.mutated(random, content)
    files = {"x.json": CORPUS.solution("mite"), name: content}
    return files, _line(random, "schedule", "x.json", "--verify", name, writes=False)


def measurements(random: Random) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return a mutant of a file of measurements, and the command that reconciles it."""
    rows = tables.edited(random, tables.rows()) if random.random() < 0.75 else tables.rows()
    if random.random() < 0.25:
        name = "m.xlsx"
        try:
            content = tables.workbook(rows)
        except (IllegalCharacterError, ValueError, OverflowError):
            content = CORPUS.template("xlsx")
        if random.random() < 0.5:
            content = texts.rearchived(random, content)
    else:
        name, content = "m.csv", tables.written(rows, random.choice(",,,;\t"))
        if random.random() < 0.3:
            content = texts.mutated(random, content)
    more = random.choice(
        ((), (), (), ("--wide",), ("--part", "block"), ("--part", values.text(random, "block")))
    )
    return {"x.json": CORPUS.solution("mite"), name: content}, _line(
        random, "reconcile", "x.json", name, *more
    )


def meshes(random: Random) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return a mesh's mutant with the scenario that names it."""
    name, content = random.choice(list(bodies.meshes().items()))
    binary = name in {"block.stl", "waist.stl", "block.ply"}
    if binary and random.random() < 0.6:
        for _ in range(random.choice((1, 2, 5))):
            start, step = (
                (96, 50) if name.endswith("stl") else (content.find(b"end_header") + 11, 4)
            )
            content = texts.floats(random, content, start + 4 * random.randrange(9), step)
    elif name.endswith("3mf") and random.random() < 0.8:
        content = texts.rearchived(random, content)
    else:
        content = texts.mutated(random, content)
    text = corpus.mite(f'{{ kind = "mesh", file = "{name}", unit = "in" }}', corpus.ONE)
    return {"x.toml": text.encode(), name: content}, _line(random, _mostly_check(random), "x.toml")


def drawings(random: Random) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return a drawing's mutant with the scenario that names it."""
    name, content = random.choice(list(bodies.drawn().items()))
    if random.random() < 0.75:
        pairs = content.decode().splitlines()
        begins = max(0, pairs.index("ENTITIES") - 2) if random.random() < 0.8 else 0
        for _ in range(random.choice((1, 1, 2, 4))):
            at = random.randrange(begins, len(pairs))
            pairs[at : at + 1] = texts.tag(random, pairs[at])
        content = "\n".join(pairs).encode("utf-8", "surrogatepass")
    else:
        content = texts.mutated(random, content)
    more = {0: "", 1: "", 2: ', layer = "BLOCK"'}[random.randrange(3)]
    kind = "revolved" if random.random() < 0.8 else "extruded"
    height = ", height = 3" if kind == "extruded" else ""
    text = corpus.mite(
        f'{{ kind = "{kind}", outline = {{ file = "{name}"{more} }}{height} }}', corpus.ONE
    )
    return {"x.toml": text.encode(), name: content}, _line(random, _mostly_check(random), "x.toml")


def command_lines(random: Random) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return sound files, and a command line with an odd option."""
    arguments = options.line(random)
    if arguments[1] == "x.json":
        return {"x.json": CORPUS.solution("mite")}, arguments
    return {"x.toml": CORPUS.scenarios["mite"].encode()}, arguments


KINDS: Final[
    Mapping[str, tuple[Callable[[Random], tuple[dict[str, bytes], tuple[str, ...]]], int]]
] = {
    "scenario": (scenarios, 26),
    "option": (command_lines, 4),
    "line": (lines, 10),
    "solution": (solutions, 14),
    "proof": (proofs, 4),
    "page": (pages, 6),
    "sheet": (sheets, 8),
    "measurement": (measurements, 12),
    "mesh": (meshes, 8),
    "drawing": (drawings, 8),
}
"""Of each kind what makes a mutant, and how many in a hundred are of it."""


def mutant(kind: str, seed: int, number: int) -> Case:
    """Return the mutant of this kind, seed and number."""
    files, arguments = KINDS[kind][0](Random(f"{kind} {seed} {number}"))
    return Case.of(f"{kind} {seed} {number}", files, arguments)


def _line(random: Random, command: str, *arguments: str, writes: bool = True) -> tuple[str, ...]:
    """Return a command line, with what it asks besides."""
    line = [command, *arguments]
    if command == "compare":
        line.append(arguments[0])
    if command == "solve":
        more = random.choice(((), (), ("--exact",), ("--fail-under", "1")))
        line += ["--jobs", "1", "--starts", "1", *more]
    if command == "explore":
        line += ["--samples", "2", "-o", "y.csv", "--jobs", "1"]
    if command == "report":
        line += ["-o", "y.html"]
    elif writes and command not in {"check", "explore"} and random.random() < 0.25:
        line += ["-o", f"y.{random.choice(SUFFIXES)}"]
    if random.random() < (0.5 if command == "solve" else 0.33):
        line.append("--json")
    return tuple(line)


def _mostly_check(random: Random) -> str:
    return random.choice(("check",) * 5 + ("solve", "schedule"))


def _json(random: Random, content: bytes) -> bytes:
    """Return a changed JSON file; sometimes the text of its scenario is what changes."""
    chance = random.random()
    if chance < 0.2:
        return texts.mutated(random, content)
    tree = json.loads(content)
    if chance < 0.45:
        text = texts.mutated(random, tree["scenario"]["text"].encode())
        tree["scenario"]["text"] = text.decode("utf-8", "replace")
    else:
        tree = trees.mutated(random, tree, trees.Grown([tree]))
    return json.dumps(tree, default=str).encode()
