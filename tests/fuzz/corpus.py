"""What mutants are made from: valid files of every kind, small, so that commands answer at once."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any, Final

from fuzz import bodies
from fuzz.trial import Case, tried
from optimizer_texts import FOLDER, head

NAMES: Final = (
    "alder", "aspen", "hawthorn", "hazel", "holly", "juniper", "larch-metric",
    "rowan", "tansy", "two-pours", "yew",
)  # fmt: skip

SOLVED: Final = ("mite", "tansy", "juniper", "rowan", "two-pours", "stone")
"""Scenarios whose solutions have mutants; the last carries a mesh."""
PAGES: Final = ("mite", "stone")
SHEETS: Final = ("csv", "xlsx")
PROVEN: Final = ("mite", "alder", "tansy", "two-pours")
"""Scenarios of which something is proven: that there is none, why, or that none has more room."""

BALL: Final = """\
[materials.shell]
density   = [1.05, 1.25]
tolerance = 0.010
[materials.filled]
density   = [0.60, 2.90]
tolerance = 0.025
[[parts]]
name     = "cover"
shape    = { kind = "sphere", diameter = 8.570 }
material = "shell"
[[parts]]
name     = "mantle"
inside   = "cover"
shape    = { kind = "sphere", diameter = 7.450 }
material = "filled"
[[parts]]
name     = "block"
inside   = "mantle"
shape    = SHAPE
at       = [0, 0, 0.25]
material = "filled"
[[parts]]
name     = "heart"
inside   = "block"
shape    = { kind = "capsule", diameter = 1.50, height = 3.20 }
at       = [0, 0, 0.35]
material = "filled"
[limits]
rulebook   = "usbc"
top_weight = { min = 0.5, max = 4.0, tolerance = 0.25 }
wall       = { min = 0.20, tolerance = 0.02 }
"""
SPREAD: Final = """\
[spread]
declared       = "2 sigma"
density.mantle = { sd = 0.005, measured = 24, within = 0.002 }
position.block = { z = { triangular = 0.04 } }
tilt.block     = 0.5
diameter       = { uniform = 0.003 }
centre         = { sd = 0.004, bound = 0.010 }
scale          = 0.01
[gauges]
casting    = { sd = 0.8, cost = 2 }
weight     = 0.004
period     = { sd = 0.001, cost = 6 }
pendulum   = { inertia = 92.0, period = 3.412, empty = 1.208 }
"""
FREE: Final = """\
[dimensions]
tall = { min = 4.5, max = 5.5, start = 5.0 }
wide = { one_of = [3.0, 3.2] }
"""
ONE: Final = head("Mite", {"15": 15.1}, (2.62, 0.020))
TWO: Final = head("Mite", {"15": 15.1, "14": 14.1}, (2.62, 0.020))
CAPSULE: Final = '{ kind = "capsule", diameter = 3.0, height = 5.2 }'
OPEN: Final = '{ kind = "capsule", diameter = "wide", height = "tall" }'


def mite(shape: str = CAPSULE, start: str = TWO, more: str = "") -> str:
    """Return a small scenario with a block of some shape."""
    return start + BALL.replace("SHAPE", shape) + more


@dataclass(frozen=True)
class Corpus:
    """The valid files, made once."""

    @cached_property
    def scenarios(self) -> Mapping[str, str]:
        """The texts of scenarios, by name; those that are quick come more than once."""
        shipped = {name: (FOLDER / f"{name}.toml").read_text(encoding="utf-8") for name in NAMES}
        own = {
            "mite": mite(),
            "one": mite(start=ONE),
            "spread": mite(more=SPREAD),
            "free": mite(OPEN, more=FREE),
        }
        return shipped | own

    @cached_property
    def trees(self) -> Mapping[str, dict[str, Any]]:
        """The same as trees."""
        return {name: tomllib.loads(text) for name, text in self.scenarios.items()}

    @cached_property
    def schema(self) -> dict[str, Any]:
        """The JSON Schema of scenarios."""
        return dict(json.loads(_made({}, "schema").out))

    @cache  # noqa: B019  there is one corpus
    def solution(self, name: str) -> bytes:
        """Return the saved solution of one of SOLVED."""
        shape = '{ kind = "mesh", file = "block.stl", unit = "in" }'
        text = mite(shape) if name == "stone" else self.scenarios[name]
        files = {"x.toml": text.encode(), "block.stl": bodies.meshes()["block.stl"]}
        return _made(files, "solve", "x.toml", "-o", "x.json").files["x.json"]

    def page(self, name: str) -> bytes:
        """Return the page of a solution's report."""
        return self._of(name, "report", "x.json", "-o", "y.html")

    def sheet(self, suffix: str) -> bytes:
        """Return the schedule of the small scenario."""
        return self._of("mite", "schedule", "x.json", "-o", f"y.{suffix}")

    def template(self, suffix: str) -> bytes:
        """Return the file of measurements that is to be filled in."""
        return self._of("mite", "reconcile", "x.json", "--template", "-o", f"y.{suffix}")

    @cache  # noqa: B019
    def proof(self, name: str) -> bytes:
        """Return the proofs behind the answer to one of PROVEN."""
        files = {"x.toml": self.scenarios[name].encode()}
        return _made(files, "solve", "x.toml", "--proof", "x.proof.json").files["x.proof.json"]

    def make(self) -> None:
        """Make all that commands make, before anything forks."""
        _ = self.schema, self.trees, [self.solution(name) for name in SOLVED]
        _ = [self.page(name) for name in PAGES], [self.sheet(suffix) for suffix in SHEETS]
        _ = self.template("xlsx"), [self.proof(name) for name in PROVEN]

    @cache  # noqa: B019
    def _of(self, name: str, *arguments: str) -> bytes:
        return _made({"x.json": self.solution(name)}, *arguments).files[arguments[-1]]


def _made(files: Mapping[str, bytes], *arguments: str) -> Any:
    outcome = tried(Case("corpus", files, arguments))
    if outcome.code not in (0, 4):
        raise RuntimeError(f"{arguments}: {outcome.code} {outcome.err.decode()}")
    return outcome
