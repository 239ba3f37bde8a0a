"""Errors say where, what, the value, and what would be right."""

from __future__ import annotations

import pytest

from shared.errors import InputError, Problem, SamespinError, SolverError


@pytest.mark.parametrize(
    ("problem", "text"),
    [
        (Problem("is no ball"), "is no ball"),
        (Problem("is no ball", "12.5"), "is no ball (12.5)"),
        (Problem("is no ball", "12.5", "make it smaller"), "is no ball (12.5); make it smaller"),
        (Problem("is no ball", file="a.toml"), "a.toml: is no ball"),
        (Problem("is no ball", None, "x", "a.toml", 27, 12), "a.toml:27:12: is no ball; x"),
    ],
)
def test_a_problem_is_one_line(problem, text):
    assert str(problem) == text


def test_an_input_error_lists_everything_that_is_wrong():
    error = InputError(Problem(what) for what in ("first", "second"))
    assert [problem.what for problem in error.problems] == ["first", "second"]
    assert str(error) == "first\nsecond"


def test_exit_codes_tell_the_users_mistakes_from_ours():
    assert (InputError([]).exit_code, SolverError("x").exit_code) == (3, 1)
    assert issubclass(InputError, SamespinError)
    assert issubclass(SolverError, SamespinError)
