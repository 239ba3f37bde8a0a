"""Goals: one number of a scenario that is sought, as far one way as the limits allow.

A table { min, max, goal = "most" } stands in place of the number. A figure of the target and a
dimension are searched between `min` and `max` anyway; any other number is read as the end of that
range that leaves most room, and a class weight as its middle.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal, TypeAlias, get_args

from optimizer.scenario.checks.mistakes import Mistake, written
from optimizer.scenario.source.content import Content, is_number, table
from optimizer.scenario.source.positions import nodes, value_at
from shared.models import Path

Sense: TypeAlias = Literal["most", "least"]
Side: TypeAlias = Literal["min", "max", "both"]
SENSES: Final[tuple[Sense, ...]] = get_args(Sense)
_OPPOSITE: Final[Mapping[str | int, str | int]] = {"min": "max", "max": "min", 0: 1, 1: 0}
"""The other end of a limit, and of a range of densities."""
PLACES: Final = (
    "a figure of the target, a class weight, a dimension, or an end of a density range or a limit"
)
"""Where a goal may stand."""


@dataclass(frozen=True)
class Goal:
    """The most or the least of the number at `path`, between `low` and `high` in the text's unit.

    Every limit that has a tolerance is to `keep` so many tolerances of room. `side` is the side of
    the bound whose end is sought, "both" for a class weight; None for a figure or a dimension.
    """

    path: Path
    sense: Sense
    low: float
    high: float
    keep: float
    side: Side | None

    @property
    def words(self) -> str:
        """Its name in the text: "materials.dense.density max"."""
        ends: dict[str | int, str] = {0: " min", 1: " max"}
        return "".join(ends.get(key, f".{key}") for key in self.path).removeprefix(".")

    @property
    def name(self) -> str:
        """The key of the figure or the dimension."""
        return str(self.path[1])

    @property
    def of(self) -> Path:
        """The place of the bound whose end is sought."""
        return self.path[:3] if self.path[0] == "materials" else self.path[:2]

    @property
    def way(self) -> float:
        """The sign of a step toward the goal: 1 for the most, -1 for the least."""
        return 1.0 if self.sense == "most" else -1.0

    @property
    def start(self) -> float:
        """The value that counts until the goal is reached."""
        if self.side in (None, "both"):
            return (self.low + self.high) / 2
        return self.low if self.side == "min" else self.high


COST: Final[Path] = ("goal", "least")
"""Where a scenario asks for the line-up that costs least."""


def without_goals(content: Content) -> tuple[Content, Goal | None, list[Mistake]]:
    """Return the content with a number for the goal, the goal, and the mistakes in it.

    What its cases seek is left as it is: a case is read once it is written into the text.
    """
    tables = [
        (path, value)
        for path, value in nodes(content)
        if path and path[0] != "cases" and _is_goal(value)
    ]
    plain: Any = copy.deepcopy(content) if tables else content
    goals, mistakes = list[Goal](), list[Mistake]()
    keep = table(content, "goal").get("keep", 0.0)
    keep = float(keep) if is_number(keep) else 0.0
    if table(content, "goal").get("least") == "cost":
        goals.append(Goal(COST, "least", 0.0, math.inf, keep, None))
    for path, value in tables:
        side, known = _side(path)
        wrong = list(_mistakes(content, path, value, side)) if known else [_elsewhere(path)]
        low, high = (0.0, 0.0) if wrong else (float(value["min"]), float(value["max"]))
        goal = Goal(path, value["goal"], low, high, keep, side)
        if side is not None or not known:
            loose = value.get("max" if side == "max" else "min")
            _put(plain, path, goal.start if not wrong else loose if is_number(loose) else 1.0)
        mistakes += wrong
        goals.append(goal)
    for other in goals[1:]:
        what = "is sought, too, but one number can be at a time"
        instead = f"give {other.words} a value"
        mistakes.append(Mistake(other.path, what, instead, shown=False))
    return plain, goals[0] if goals and not mistakes else None, mistakes


def _is_goal(value: Any) -> bool:
    return isinstance(value, Mapping) and "goal" in value


def _side(path: Path) -> tuple[Side | None, bool]:
    """Return which side of a bound the number at `path` is, and whether it can be sought."""
    match path:
        case ("target", "rg" | "differential" | "intermediate_differential" | "cg_offset"):
            return None, True
        case ("dimensions", str()):
            return None, True
        case ("weights", str()) | ("weights", str(), "target"):
            return "both", True
        case ("materials", str(), "density", 0) | ("limits", str(), "min"):
            return "min", True
        case ("materials", str(), "density", 1) | ("limits", str(), "max"):
            return "max", True
    return None, False


def _elsewhere(path: Path) -> Mistake:
    instead = f"a goal may be {PLACES}"
    return Mistake(path, "can't be sought", instead, shown=False, covers=path)


def _mistakes(
    content: Content, path: Path, value: Mapping[str, Any], side: Side | None
) -> Iterator[Mistake]:
    """Yield what is wrong in a goal's table."""
    sense = value["goal"]
    if sense not in SENSES and side is not None:
        yield Mistake((*path, "goal"), "is neither most nor least", 'write "most" or "least"')
    if (side, sense) in {("min", "least"), ("max", "most")}:
        what = f"the {sense} of a {side} is the end of its own range: nothing stops it"
        instead = f'ask for the "{"most" if side == "min" else "least"}"'
        yield Mistake((*path, "goal"), what, instead, shown=False)
    for key in sorted(value.keys() - {"min", "max", "goal"}) if side is not None else ():
        yield Mistake((*path, key), "is not a key here", 'known: "min", "max", "goal"')
    if path[0] == "dimensions" and value.get("same", "all") != "all":
        what = "differs between weights, and one number is sought"
        yield Mistake((*path, "same"), what, 'leave it out: one value in every weight ("all")')
    if wrong := _wrong_range(content, path, value, side):
        yield Mistake(path, *wrong, shown=False, covers=path)


def _wrong_range(
    content: Content, path: Path, value: Mapping[str, Any], side: Side | None
) -> tuple[str, str] | None:
    """Return what is wrong with the range, and what would be right; None for a good one."""
    low, high = value.get("min"), value.get("max")
    if not is_number(low) or not is_number(high):
        return "is sought without a range", "add min and max: the range to seek it in"
    if low >= high:
        return f"is sought between {written(low)} and {written(high)}", "min below max"
    if low <= 0 and (side == "both" or path[0] == "limits"):
        return f"is sought from {written(low)}", "a class weight, or a limit, is more than 0"
    other = value_at(content, (*path[:-1], _OPPOSITE.get(path[-1], "")))[1]
    if is_number(other) and (low < other if side == "max" else high > other):
        return f"is sought beyond its range's other end, {written(other)}", "keep to its own side"
    return None


def _put(content: Any, path: Path, value: Any) -> None:
    for key in path[:-1]:
        content = content[key]
    content[path[-1]] = value
