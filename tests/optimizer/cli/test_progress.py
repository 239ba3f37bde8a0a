from __future__ import annotations

import io

import pytest

from optimizer.cli import progress as module
from optimizer.cli.progress import progress


class Terminal(io.StringIO):
    """Text that takes itself for a screen."""

    def isatty(self) -> bool:
        """Return True."""
        return True


def heard(stream: io.StringIO, monkeypatch: pytest.MonkeyPatch, *, hidden: bool = False) -> str:
    monkeypatch.setattr("sys.stderr", stream)
    with progress(hidden=hidden) as told:
        told("16, 15", 1.25)
    return stream.getvalue()


def test_work_that_lasts_is_seen_on_a_screen_and_wiped_away(monkeypatch) -> None:
    monkeypatch.setattr(module, "PATIENCE", -1.0)
    text = heard(Terminal(), monkeypatch)
    assert "solving 16, 15: smallest margin so far 1.2 tolerances (0 s)" in text
    assert text.endswith("\r\x1b[K")


def test_quick_work_is_not_seen(monkeypatch) -> None:
    assert heard(Terminal(), monkeypatch) == ""


def test_nothing_is_shown_where_nobody_watches(monkeypatch) -> None:
    monkeypatch.setattr(module, "PATIENCE", -1.0)
    assert heard(io.StringIO(), monkeypatch) == ""
    assert heard(Terminal(), monkeypatch, hidden=True) == ""


def test_a_line_of_many_weights_keeps_to_one_line_of_the_screen(monkeypatch) -> None:
    """What is too long loses its beginning: how far the work is stands at the end."""
    monkeypatch.setattr(module, "PATIENCE", -1.0)
    monkeypatch.setenv("COLUMNS", "60")
    monkeypatch.setattr("sys.stderr", stream := Terminal())
    with progress(hidden=False) as told:
        told(", ".join(map(str, range(100))) + ", start 3 of at most 17")
    (line,) = [part for part in stream.getvalue().split("\r\x1b[K") if part]
    assert line.endswith("99, start 3 of at most 17 (0 s)")
    assert len(line) == 59
