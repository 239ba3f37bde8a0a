"""What is asked about a line-up once it is known."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from optimizer.scenario.goals import COST
from optimizer.terminal import frame
from shared import stopping

if TYPE_CHECKING:
    from collections.abc import Sequence

    from optimizer.lineup.proof.ceiling import Ceiling
    from optimizer.lineup.proof.farthest import Farthest
    from optimizer.lineup.result import LineupResult
    from optimizer.questions.solve.second_opinion import SecondOpinion
    from optimizer.questions.why_not.diagnosis import Diagnosis
    from optimizer.questions.worth.worth import Worths


class About(NamedTuple):
    """A line-up, why it is none, what is proven of any, its worth, and another solver's word.

    `ceilings` are of the room, `farthest` of a goal.

    What wasn't asked, or was interrupted, is None.
    """

    result: LineupResult
    diagnosis: Diagnosis | None = None
    ceilings: Sequence[Ceiling] | None = None
    farthest: Farthest | None = None
    worths: Worths | None = None
    second: SecondOpinion | None = None
    interrupted: bool = False


def about(result: LineupResult, *, worth: bool, second_opinion: bool) -> About:
    """Return what is asked about a result; an interrupt leaves the line-up, which is known."""
    known = About(result)
    try:
        if not result.accepted:
            from optimizer.questions.why_not.diagnosis import explained  # noqa: PLC0415 - heavy

            nearest, diagnosis = explained(result)
            known = known._replace(result=nearest, diagnosis=diagnosis)
        elif result.goal is not None and result.goal.reach is not None:
            from optimizer.lineup.proof.farthest import farthest  # noqa: PLC0415 - heavy

            known = known._replace(farthest=farthest(result.goal.reach))
        elif result.search.complete and not (result.goal and result.goal.goal.path == COST):
            from optimizer.lineup.engine.linear_solver import LinearSolver  # noqa: PLC0415 - heavy
            from optimizer.lineup.proof.ceiling import ceilings  # noqa: PLC0415

            known = known._replace(ceilings=tuple(ceilings(result, LinearSolver())))
        if worth:
            known = known._replace(worths=_worths(known.result))
        if second_opinion:
            from optimizer.questions.solve import second_opinion as other  # noqa: PLC0415 - heavy

            known = known._replace(second=other.second_opinion(known.result))
    except KeyboardInterrupt:
        stopping.heard()
        return known._replace(interrupted=True)
    return known


def _worths(result: LineupResult) -> Worths | None:
    """Return what dimensions and bounds are worth; None, with a message, off the exact target."""
    from optimizer.questions.worth.worth import worths  # noqa: PLC0415 - heavy

    if result.status != "feasible":
        frame.tell("--worth: there is no line-up exactly on target to ask about")
        return None
    return worths(result)
