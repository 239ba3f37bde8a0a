"""The report of a solved line-up: on the screen, in a file, as data."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from optimizer.paper.document import Heading, Notes, Report
from optimizer.paper.writers.drawing import mould_drawing
from optimizer.questions.line_up.data import solution
from optimizer.questions.line_up.page import lineup_blocks
from optimizer.questions.solve.second_opinion import AGREE, SecondOpinion

if TYPE_CHECKING:
    from optimizer.questions.solve.about import About
    from optimizer.questions.tolerance.drawing import Picked


def solved_report(known: About, picked: Picked | None = None) -> Report:
    """Return the report of a line-up, with what else is known about it.

    The pages of other questions are imported when needed: that takes longer than a solve.
    """
    result, diagnosis = known.result, known.diagnosis
    if diagnosis is None:
        room: tuple[str, ...] = ()
        data = solution(result)
        if known.ceilings is not None:
            from optimizer.questions.solve.best import best_data, best_words  # noqa: PLC0415

            room = best_words(known.ceilings)
            data |= best_data(known.ceilings)
        if result.goal is not None:
            from optimizer.questions.line_up.goal_words import (  # noqa: PLC0415
                farthest_words,
                goal_data,
            )

            data |= {"goal": goal_data(result.goal, known.farthest)}
            if known.farthest is not None:
                room = farthest_words(result.goal, known.farthest)
        blocks = [*lineup_blocks(result, room=room)]
    else:
        from optimizer.questions.why_not.data import diagnosis_data  # noqa: PLC0415
        from optimizer.questions.why_not.page import diagnosis_blocks  # noqa: PLC0415

        blocks = [*lineup_blocks(result, diagnosis_blocks(diagnosis, result))]
        data = solution(result, diagnosis_data(diagnosis, result))
    if known.worths is not None:
        from optimizer.questions.worth.page import worth_blocks, worth_data  # noqa: PLC0415

        blocks += worth_blocks(known.worths, result)
        data |= {"worth": worth_data(known.worths)}
    if picked is not None:
        from optimizer.questions.tolerance.picked import picked_blocks, picked_data  # noqa: PLC0415

        blocks += picked_blocks(picked)
        data |= {"good_share": picked_data(picked)}
    if known.second is not None:
        blocks += (Heading("Second opinion"), Notes((_second_words(known.second),)))
        data |= {"second_opinion": _second_data(known.second)}
    return Report(tuple(blocks), data, partial(mould_drawing, result))


def _second_words(second: SecondOpinion) -> str:
    of = "the last program" if second.programs == 1 else f"the {second.programs} last programs"
    return (
        f"{second.other}, an interior-point method, finds the same optimum of {of} as "
        f"{second.solver}, to {AGREE:.6f} tolerances (off by {second.difference:.1g} at most)."
    )


def _second_data(second: SecondOpinion) -> dict[str, Any]:
    return {
        "agrees": True,
        "difference_tolerances": second.difference,
        "programs": second.programs,
        "solver": second.solver,
        "other": second.other,
    }
