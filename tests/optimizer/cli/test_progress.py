from __future__ import annotations

import io
import time
from types import SimpleNamespace

import pytest
from waiting import PATIENT, until

from optimizer.terminal import frame
from optimizer.terminal import progress as module
from optimizer.terminal.progress import progress
from shared import activity

WIPE = "\r\x1b[K"


class Terminal(io.StringIO):
    """Text that takes itself for a screen."""

    def isatty(self) -> bool:
        """Return True."""
        return True


def watched(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """What a person sees who watches from the beginning.

    Set up in the test itself: pytest gives each phase of a test its own streams.
    """
    activity.at("")
    monkeypatch.setattr(module, "PATIENCE", 0.0)
    monkeypatch.setattr(module, "EVERY", 0.001)
    monkeypatch.setattr("sys.stderr", stream := Terminal())
    return stream


def seen(screen: Terminal, words: str) -> str:
    """Wait until the line says `words`, and return it."""
    return until(
        lambda: next((one for one in screen.getvalue().split(WIPE) if words in one), None), 0.001
    )


def test_work_that_lasts_is_seen_on_a_screen_and_wiped_away(monkeypatch) -> None:
    screen = watched(monkeypatch)
    with progress(hidden=False):
        activity.at("16, 15", 1.25)
        line = seen(screen, "16, 15")
    assert line == "16, 15: smallest margin so far 1.2 tolerances (0 s)"
    assert screen.getvalue().endswith(WIPE)


def test_what_is_done_for_something_wider_stands_behind_it(monkeypatch) -> None:
    screen = watched(monkeypatch)
    with progress(hidden=False):
        activity.at("change 3 of 20")
        with activity.within():
            activity.at("start 2 of 5")
            assert seen(screen, "start").startswith("change 3 of 20, start 2 of 5 (")
        before = len(screen.getvalue())
        until(lambda: "(" in screen.getvalue()[before:], 0.001)
        assert activity.now() == "change 3 of 20"
    activity.at("")


def test_how_far_a_series_is_and_how_long_the_rest_may_take(monkeypatch) -> None:
    """Three of eight steps took 6 s: at that pace the other five take 10 s; later, no pace is lost.

    Steps that were there before it began took none of its time.
    """
    clock = [100.0]
    monkeypatch.setattr(activity, "time", SimpleNamespace(monotonic=lambda: clock[0]))
    fresh, continued = activity.Series("start", 8), activity.Series("candidate", 508, 500)
    assert str(fresh) == "start 0 of 8"
    for series in (fresh, continued):
        for best in (None, None, 2.46):
            series.step(best)
    clock[0] = 106.0
    said = "3 of 8: margin 2.5 tolerances, at most about 10 s left"
    assert str(fresh) == f"start {said}"
    assert str(continued) == f"candidate {said.replace('3 of 8', '503 of 508')}"
    assert activity.now() == str(continued)
    clock[0] = 112.0  # the fourth lasts
    assert fresh.left == 20.0
    fresh.most = 103
    assert str(fresh).endswith(", at most about 7 min left")  # 400 s
    fresh.most = 3
    assert fresh.left == 0.0
    assert "left" not in str(fresh)
    activity.at("")


def test_a_long_search_of_a_line_keeps_its_numbers_on_a_screen_of_80_columns(monkeypatch) -> None:
    """Too long a line loses its beginning: the weights, not how far the work is."""
    screen = watched(monkeypatch)
    monkeypatch.setenv("COLUMNS", "80")
    clock = [0.0]
    monkeypatch.setattr(activity, "time", SimpleNamespace(monotonic=lambda: clock[0]))
    series = activity.Series("moulds for 16, 15, 14, 13, 12, start", 500)
    clock[0] = 1200.0
    series.done = 111
    with progress(hidden=False):
        series.step(13.46)
        line = seen(screen, "left")
    assert "start 112 of 500: margin 13.5 tolerances, at most about 69 min left (0 s)" in line
    activity.at("")


def test_the_result_and_what_is_said_beside_it_have_the_screen_for_themselves(monkeypatch) -> None:
    screen = watched(monkeypatch)
    with progress(hidden=False):
        activity.at("solving")
        seen(screen, "solving")
        frame.tell("continuing")
        assert f"{WIPE}continuing\n" in screen.getvalue()
        activity.at("further on")
        seen(screen, "further on")
        module.end()
        before = screen.getvalue()
        assert before.endswith(WIPE)
        time.sleep(0.05)
        assert screen.getvalue() == before


def test_quick_work_is_not_seen(monkeypatch) -> None:
    monkeypatch.setattr("sys.stderr", stream := Terminal())
    monkeypatch.setattr(module, "PATIENCE", PATIENT)
    with progress(hidden=False):
        activity.at("solving")
    assert stream.getvalue() == ""


@pytest.mark.parametrize(("stream", "hidden"), [(io.StringIO, False), (Terminal, True)])
def test_nothing_is_shown_where_nobody_watches(monkeypatch, stream, hidden) -> None:
    watched(monkeypatch)
    monkeypatch.setattr("sys.stderr", written := stream())
    with progress(hidden=hidden):
        activity.at("solving")
        time.sleep(0.05)
    assert written.getvalue() == ""


def test_a_line_of_many_weights_keeps_to_one_line_of_the_screen(monkeypatch) -> None:
    """What is too long loses its beginning: how far the work is stands at the end."""
    screen = watched(monkeypatch)
    monkeypatch.setenv("COLUMNS", "60")
    with progress(hidden=False):
        activity.at(", ".join(map(str, range(100))) + ", start 3 of at most 17")
        line = seen(screen, "start 3")
    assert line.endswith("99, start 3 of at most 17 (0 s)")
    assert len(line) == 59
