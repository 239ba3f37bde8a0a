"""What the command line changes in the scenarios that a command reads: only texts, so far."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final

from shared.letters import short

AS_WRITTEN: Final = "as-written"
"""The name by which `--case` asks for the file as it stands."""
TOLD: Final = 60
"""The most letters of a value that a title tells."""


@dataclass(frozen=True)
class WhatIf:
    """A case of the scenario's file, and then `sets`, each a text "KEY=VALUE"."""

    case: str | None = None
    sets: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        """Whether anything is changed."""
        return self.case not in {None, AS_WRITTEN} or bool(self.sets)

    @property
    def words(self) -> str:
        """What is changed, as it follows a title; nothing if nothing is.

        >>> WhatIf("long", ("target.rg = 2.5", "target.differential = 0.04")).words
        ', case long, with target.rg = 2.5 and target.differential = 0.04'
        """
        case = "" if self.case is None else f", case {self.case}"
        *first, last = [short(text, TOLD) for text in self.sets] or [""]
        sets = " and ".join(filter(None, (", ".join(first), last)))
        return case + (f", with {sets}" if sets else "")

    @property
    def data(self) -> dict[str, Any] | None:
        """The same as JSON types; None if nothing is changed."""
        return {"case": self.case, "set": list(self.sets)} if self else None

    @property
    def options(self) -> str:
        """The options as typed on a command line, each after a blank."""
        case = () if self.case is None else ("--case", self.case)
        each = (*case, *(word for text in self.sets for word in ("--set", text)))
        return "".join(f" {shlex.quote(word)}" for word in each)

    @classmethod
    def read(cls, data: Any) -> WhatIf:
        """Return what `data` says; nothing where it says something else."""
        match data:
            case {"case": str() | None as case, "set": [*sets]} if all(
                isinstance(text, str) for text in sets
            ):
                return cls(case, tuple(sets))
        return cls()


class _State:
    asked = WhatIf()


def asked() -> WhatIf:
    """Return what a command was asked to change."""
    return _State.asked


@contextmanager
def within(what: WhatIf) -> Iterator[None]:
    """Change what is read in this context."""
    before, _State.asked = _State.asked, what
    try:
        yield
    finally:
        _State.asked = before
