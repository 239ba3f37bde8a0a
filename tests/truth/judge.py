"""What one line came to: what `samespin solve` says of it, and whether that is true."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Final

from fuzz import trial
from fuzz.judge import faults as formal
from fuzz.trial import Case
from truth import second
from truth.line import Line
from truth.printed import faults

BOUNDED = ("is too small", "is too large", "cross in so many places")
"""What is told of a planted line that is beyond what any scenario may say, or is measured."""

EXITS: Final = {0: ("feasible", "within_tolerance"), 4: ("infeasible",), 6: ("undecided",)}
trial.CPU = 150
STARTS: Final = 12
HOW: Final = ("proven", "none found", "not sought")
"""What the second program says of a line that is infeasible."""


@dataclass
class Verdict:
    """A line's status, what was wrong with it, how it was confirmed, and why it is undecided."""

    number: int
    kind: str
    on_axis: bool
    status: str
    wrong: list[str] = field(default_factory=list)
    confirmed: str = ""
    reason: str = ""
    seconds: float = 0.0

    @property
    def row(self) -> str:
        """All of it on a line, and one for each fault."""
        axis = "on the axis" if self.on_axis else "off it"
        row = f"{self.number} {self.kind}, {axis}: {self.status} {self.confirmed or self.reason}"
        return "".join(
            [row, f", {self.seconds:.1f} s", *(f"\n    {one}" for one in self.wrong[:4])]
        )


def judged(line: Line, number: int) -> Verdict:
    """Solve a line by the real command, and hold what it prints against the oracle."""
    arguments = ["solve", "x.toml", "--json", *["--exact"] * line.exact]
    case = Case.of(f"line {number}", line.files(), arguments)
    outcome = trial.tried(case)
    verdict = Verdict(number, line.kind, line.on_axis, "error", seconds=outcome.seconds)
    verdict.wrong += formal(case, outcome)
    if outcome.killed:
        verdict.status, verdict.reason, verdict.wrong = "undecided", "budget", []
        return verdict
    try:
        printed = json.loads(outcome.out)
    except ValueError:
        verdict.wrong.append(f"no JSON: {outcome.out[:200]!r} {outcome.err[:200]!r}")
        return verdict
    if outcome.code not in EXITS:
        errors = printed.get("errors") or printed.get("problems") or printed
        verdict.reason = str(errors)[:300]
        bounded = any(words in verdict.reason for words in BOUNDED)
        if line.planted is not None and "badly" not in line.kind and not bounded:
            verdict.wrong.append(f"refused: {verdict.reason}")
        return verdict
    verdict.status = printed["status"]
    match verdict.status:
        case "feasible" | "within_tolerance":
            verdict.wrong += faults(line, printed)
        case "infeasible":
            _infeasible(line, verdict, printed)
        case "undecided":
            verdict.reason = _reason(line, printed)
    return verdict


def _infeasible(line: Line, verdict: Verdict, printed: dict[str, object]) -> None:
    """Hold an infeasible line against what was planted, and the independent program.

    A certificate (`solve --proof FILE`, checked by `samespin proof FILE`) is to be asked for here.
    """
    if line.planted is not None and not _thin(line):
        verdict.wrong.append(f"infeasible, and {line.planted.tolist()} meet it")
    if (label := second.impossible(line, exact=line.exact)) is not None:
        verdict.confirmed = f"proven, {label}"
    elif line.exact:
        verdict.confirmed = "not sought"
    elif (found := second.line_up(line, verdict.number, STARTS)) is not None:
        verdict.wrong.append(f"infeasible, and {found.tolist()} meet it within tolerance")
    else:
        verdict.confirmed = "none found"


def _thin(line: Line) -> bool:
    """Say whether what was planted is lost to the text's rounding: only the exact will do."""
    return line.exact and line.digits is not None


def _reason(line: Line, printed: dict[str, object]) -> str:
    if line.planted is not None:
        return "planted, not found"
    found = None if line.exact else second.line_up(line, 7, 4)
    return "a line-up exists" if found is not None else "none found, none proven"
