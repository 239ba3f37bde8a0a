"""What a sheet for the foundry must say beside its figures: shared/reference/cautions.toml."""

from __future__ import annotations

from dataclasses import dataclass

from shared.reference import table


@dataclass(frozen=True)
class Agent:
    """The published limits of exposure to one agent, with the grade of the figure."""

    name: str
    osha: str
    niosh: str
    grade: str


@dataclass(frozen=True)
class Cautions:
    """The sentences that always stand on a sheet, the cautions, and the agents with limits."""

    always: str
    advice: str
    cautions: tuple[str, ...]
    agents: tuple[Agent, ...]


def cautions() -> Cautions:
    """Return what is shipped, each caution with its source after it."""
    rows = table("cautions")
    return Cautions(
        always=rows["always"],
        advice=rows["advice"],
        cautions=tuple(f"{row['text']} ({_source(row)})" for row in rows["cautions"]),
        agents=tuple(
            Agent(row["name"], row["osha"], row["niosh"], row["grade"]) for row in rows["agents"]
        ),
    )


def _source(row: dict[str, str]) -> str:
    known = row["source"]
    return known if row["grade"] == "D" else f"{known}; grade {row['grade']}"
