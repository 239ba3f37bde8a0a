"""Errors, each with what the user needs to know.

    SamespinError            reported in one message (exit 1: a fault of ours)
    ├── InputError           the input is wrong: one or more Problems (exit 3)
    ├── SolverError          a solver failed (exit 1)
    │   └── UndecidedError   two solvers disagree (exit 6)
    ├── UnbuildableError     a search tried an impossible mould: never seen by a user
    └── StoppedError         stopped by the user; what is done is kept (exit 130)

An infeasible or undecided line-up is a result, not an error.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong: where, what, the value as written, and what would be right.

    `file`, `line` and `column` are None if not known: no place rather than a wrong one.
    """

    what: str
    value: str | None = None
    instead: str | None = None
    file: str | None = None
    line: int | None = None
    column: int | None = None

    def __str__(self) -> str:
        place = ":".join(str(p) for p in (self.file, self.line, self.column) if p is not None)
        value = "" if self.value is None else f" ({self.value})"
        instead = "" if self.instead is None else f"; {self.instead}"
        return f"{place}: {self.what}{value}{instead}" if place else f"{self.what}{value}{instead}"


def errors_data(problems: Iterable[Problem]) -> dict[str, Any]:
    """Return the problems as one JSON object."""
    return {"format": "samespin/error@1", "errors": [asdict(problem) for problem in problems]}


class SamespinError(Exception):
    """The root of every error that samespin raises itself."""

    exit_code = 1


class InputError(SamespinError):
    """The input is wrong; `problems` lists every mistake, in file order."""

    exit_code = 3

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class UnbuildableError(SamespinError):
    """No solid has these dimensions; the search that tried them backs off."""


class SolverError(SamespinError):
    """A solver failed; nothing was decided."""


class UndecidedError(SolverError):
    """The question is not decided: two solvers disagree, or the time allowed is over."""

    exit_code = 6


class StoppedError(SamespinError):
    """The user stopped long work; the message says what is kept and how to continue."""

    exit_code = 130
