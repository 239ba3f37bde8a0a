"""What is wrong where a mould has no room for the spread of an input."""

from __future__ import annotations

from optimizer.scatter.inputs import AXES, Input
from optimizer.scenario import Scenario
from shared.errors import InputError

TABLES = {
    "position": "position",
    "tilt": "tilt",
    "dimension": "dimensions",
    "diameter": "diameter",
    "centre": "centre",
}
"""The key of [spread] of each kind of input that changes the mould or the turning."""


def no_room(scenario: Scenario, label: str, input_: Input) -> InputError:
    """Return the error that no mould of a weight can be so far off."""
    along = () if input_.axis is None else (AXES[input_.axis],)
    own = () if input_.of is None else (input_.of,)
    path = ("spread", TABLES[input_.kind], *own, *along)
    ends = (path[:k] for k in range(len(path), 1, -1))
    place = next((end for end in ends if end in scenario.places), path)
    what = f"spread {input_.name}: there is no such ball at {label} when it is far off"
    return InputError([scenario.problem(place, what, "give less")])
