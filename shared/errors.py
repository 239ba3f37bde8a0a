"""Errors, each with what the user needs to know.

    SamespinError            reported in one message (exit 1: a fault of ours)
    ├── InputError           the input is wrong: one or more Problems (exit 3)
    ├── SolverError          a solver failed (exit 1)
    │   └── UndecidedError   two solvers disagree (exit 6)
    ├── UnbuildableError     a search tried an impossible mould: never seen by a user
    └── StoppedError         stopped by the user; what is done is kept (exit 130)

A FileError says what is wrong with a file; who knows the file's name makes an InputError of it.
An infeasible or undecided line-up is a result, not an error.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

from shared.letters import safe, short

TOLD: Final = 20
"""The most problems that are told of one input: the first ones, and how many more there are."""
SENTENCE, VALUE = 500, 100
"""The most letters of a problem's words, and of the value as written."""


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

    def __post_init__(self) -> None:
        """Cut what is too long to be read."""
        for name, most in {"what": SENTENCE, "instead": SENTENCE, "value": VALUE}.items():
            text = getattr(self, name)
            if text is not None and len(text) > most:
                object.__setattr__(self, name, short(text, most))

    def __str__(self) -> str:
        """Return it in one line, without control characters."""
        place = ":".join(str(p) for p in (self.file, self.line, self.column) if p is not None)
        value = "" if self.value is None else f" ({self.value})"
        instead = "" if self.instead is None else f"; {self.instead}"
        return safe(": ".join(filter(None, (place, f"{self.what}{value}{instead}"))))


def errors_data(problems: Iterable[Problem]) -> dict[str, Any]:
    """Return the first problems as one JSON object, and how many more there are, if any."""
    each = list(problems)
    more = {"more": len(each) - TOLD} if len(each) > TOLD else {}
    return {
        "format": "samespin/error@1",
        "errors": [asdict(problem) for problem in each[:TOLD]],
        **more,
    }


def told(problems: Sequence[Problem]) -> Iterator[str]:
    """Yield the lines that tell of problems."""
    yield from map(str, problems[:TOLD])
    if len(problems) > TOLD:
        yield f"and {len(problems) - TOLD} more"


class SamespinError(Exception):
    """The root of every error that samespin raises itself."""

    exit_code = 1


class InputError(SamespinError):
    """The input is wrong; `problems` lists every mistake, in file order."""

    exit_code = 3

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(told(self.problems)))


class FileError(ValueError):
    """A file that can't be used: what is wrong with it, and what would be right."""

    def __init__(self, what: str, instead: str) -> None:
        self.what, self.instead = what, instead
        super().__init__(f"{what}; {instead}")


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
