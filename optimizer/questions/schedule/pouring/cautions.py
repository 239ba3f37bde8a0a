"""The cautions on a sheet for the foundry, from shared/reference/cautions.toml."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from shared.reference import table

LIMITS: Final = ("name", "osha", "niosh", "grade")
"""The columns on an agent: its name, its published exposure limits, and their grade."""


@dataclass(frozen=True)
class Cautions:
    """The sentences on every sheet, the cautions, and the agents with limits."""

    always: str
    advice: str
    cautions: tuple[str, ...]
    agents: tuple[tuple[str, ...], ...]


def cautions() -> Cautions:
    """Return the shipped cautions, each followed by its source."""
    rows = table("cautions")
    return Cautions(
        always=rows["always"],
        advice=rows["advice"],
        cautions=tuple(f"{row['text']} ({_source(row)})" for row in rows["cautions"]),
        agents=tuple(tuple(row[key] for key in LIMITS) for row in rows["agents"]),
    )


def _source(row: dict[str, str]) -> str:
    known = row["source"]
    return known if row["grade"] == "D" else f"{known}; grade {row['grade']}"
