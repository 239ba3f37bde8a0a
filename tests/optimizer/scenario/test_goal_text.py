"""A number that is sought, as it is written, and what is wrong with it."""

from __future__ import annotations

import pytest
from jsonschema import Draft202012Validator
from optimizer_texts import plain_juniper, read

from optimizer.scenario.source.files import parsed
from optimizer.scenario.text.schema import scenario_schema
from shared.errors import InputError

MOST = '{ min = 0.01, max = 0.09, goal = "most" }\n'
D, W = "differential = 0.040 ", "13 = 13.12"
DENSE = "density   = [1.60, 3.60]"


def _with(*changes: tuple[str, str], more: str = "") -> str:
    text = plain_juniper()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return f"{text}\n{more}"


def _range(of: str, goal: str) -> tuple[str, str]:
    return {D: (D, f"differential = {goal}\n"), W: (W, f"13 = {goal}"), DENSE: (DENSE, goal)}[of]


@pytest.mark.parametrize(
    ("text", "path", "side", "start"),
    [
        (_with((D, f"differential = {MOST}")), ("target", "differential"), None, 0.05),
        (
            _with((W, '13 = { min = 11, max = 14, goal = "least" }')),
            ("weights", "13"),
            "both",
            12.5,
        ),
        (
            _with(
                ("14 = { target = 14.12,", '14 = { target = { min = 13, max = 15, goal = "most" },')
            ),
            ("weights", "14", "target"),
            "both",
            14.0,
        ),
        (
            _with((DENSE, 'density = [1.6, { min = 2, max = 4, goal = "least" }]')),
            ("materials", "dense", "density", 1),
            "max",
            4.0,
        ),
        (
            _with((DENSE, 'density = [{ min = 1, max = 3, goal = "most" }, 3.6]')),
            ("materials", "dense", "density", 0),
            "min",
            1.0,
        ),
        (
            _with(
                (
                    "{ min = 1.0, max = 4.0",
                    '{ min = { min = 0.5, max = 3, goal = "most" }, max = 4.0',
                )
            ),
            ("limits", "top_weight", "min"),
            "min",
            0.5,
        ),
    ],
)
def test_it_stands_in_place_of_a_number(text, path, side, start):
    goal = read(text).goal
    assert (goal.path, goal.side, goal.start) == (path, side, pytest.approx(start))
    assert Draft202012Validator(scenario_schema()).is_valid(parsed(text, "x.toml"))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (_with((D, "differential = { min = 0.01, max = 0.09, goal = 'mst' }\n")), "is not one of"),
        (_with((D, "differential = { min = 0.9, max = 0.1, goal = 'most' }\n")), "min below max"),
        (_with((D, "differential = { goal = 'most' }\n")), "is sought without a range"),
        (
            _with(
                (D, f"differential = {MOST}"), (W, "13 = { min = 11, max = 14, goal = 'least' }")
            ),
            "is sought, too, but one number can be at a time; give weights.13 a value",
        ),
        (
            _with((W, "13 = { min = 11, max = 14, goal = 'least', tolerance = 0.1 }")),
            'is not a key here (0.1); known: "min", "max", "goal"',
        ),
        (_with((W, "13 = { min = 0, max = 14, goal = 'least' }")), "is sought from 0"),
        (
            _with((DENSE, "density = [1.6, { min = 2, max = 4, goal = 'most' }]")),
            'nothing stops it; ask for the "least"',
        ),
        (
            _with((DENSE, "density = [1.6, { min = 1.2, max = 4, goal = 'least' }]")),
            "is sought beyond its range's other end, 1.6",
        ),
        (
            _with(("diameter = 2.20", "diameter = { min = 2, max = 3, goal = 'least' }")),
            "can't be sought; a goal may be a figure of the target",
        ),
        (_with((D, f"differential = {MOST}"), more="[goal]\nkeep = -1\n"), "must not be negative"),
        (
            _with(
                (W, W),
                more="[dimensions]\nw = { min = 1, max = 2, goal = 'most', same = 'none' }\n",
            ),
            "differs between weights, and one number is sought",
        ),
    ],
)
def test_what_is_wrong_is_told_once(text, told):
    with pytest.raises(InputError) as caught:
        read(text)
    (problem,) = caught.value.problems
    assert told in str(problem)
    assert problem.line is not None


def test_nothing_free_is_an_error():
    ranges = {
        "density   = [1.12, 1.22]": "density = 1.17",
        "[0.62, 1.45]": "0.9",
        "[1.00, 2.90]": "2",
        "[1.60, 3.60]": "3",
    }
    with pytest.raises(InputError, match="no density and no dimension is free to reach it"):
        read(_with((D, f"differential = {MOST}"), *ranges.items()))


def test_room_to_keep_without_a_goal_is_a_warning():
    (warning,) = read(_with(more="[goal]\nkeep = 1\n")).warnings
    assert "is not used: no number is sought" in warning
