"""What the page of benchmarks is made with."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest
from benchmarks import measuring
from benchmarks.measuring import WIDTH, Section, exponent, least, markdown, ratio, show, spent
from rich.console import Console


def test_the_exponent_of_a_power_is_its_own():
    sizes = (1, 2, 5, 40)
    assert exponent(sizes, [3.0 * n**1.7 for n in sizes]) == pytest.approx(1.7)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(12.345, "12.3 s"), (0.0123, "12.3 ms"), (4.5e-6, "4.5 µs"), (4.5e-8, "0.04 µs")],
)
def test_a_time_has_the_unit_that_suits_it(seconds, text):
    assert spent(seconds) == text


def test_a_ratio_has_three_digits():
    assert ratio(2.0, 3.0) == "0.667×"


def test_short_runs_are_repeated_and_each_is_told_alone(monkeypatch):
    """A clock that each run moves on: by 1 ms, and by 1 s, which is run once a round."""
    clock = [0.0]
    monkeypatch.setattr(measuring.time, "process_time", lambda: clock[0])

    def runs(seconds: float) -> Callable[[], None]:
        return lambda: clock.__setitem__(0, clock[0] + seconds)

    took = least({"short": runs(0.001), "long": runs(1.0)}, runs=2)
    assert took == pytest.approx({"short": 0.001, "long": 1.0})
    assert clock[0] == pytest.approx(0.001 + 1.0 + 2 * (10 * 0.001 + 1.0))


def test_a_section_fits_the_page_and_reads_as_markdown():
    section = Section("Title", ("way", "time"), [("one", "1 s"), ("two", "2 s")], "A note.")
    page = io.StringIO()
    show(section, Console(width=WIDTH, file=page))
    assert max(map(len, page.getvalue().splitlines())) <= WIDTH
    assert [word for word in page.getvalue().split() if word.isalnum()][:3] == [
        "Title",
        "way",
        "time",
    ]
    assert "| two | 2 s |" in markdown(section).splitlines()
